"""Corrections that a complete sheet posts and that the ECU did not: silence is a finding."""

import pytest

from tests.explain.parts import AIR, AT, DEG, during, oil_guard, switched, with_lever, with_low_oil
from tests.explain.told import first, told, told_of
from tests.runs import Run, along, charge_air, climb, sheet
from tuneledger.statement.model import SuppliedSheet

HOT = (climb(), charge_air(DEG))
GUARD = (with_low_oil(climb()), oil_guard(-8.0))
HELD = (
    with_low_oil(climb()),
    oil_guard(-8.0, when=[{"channel": "Oil gallery", "below": 200.0, "held": 1.0}]),
)
LEVER = (with_lever(climb()), switched("wet-road", -4.0, reason="driver switch"))
ALL = pytest.mark.parametrize(
    ("run", "correction"), [HOT, GUARD, HELD, LEVER], ids=["hot", "guard", "held", "lever"]
)


def one_sheet(correction: dict[str, object]) -> SuppliedSheet:
    return sheet("rev-d.toml", "D", [correction])


@ALL
def test_an_enabled_correction_that_did_not_act_is_no_agreement(
    run: Run, correction: dict[str, object]
) -> None:
    statement = told(run, one_sheet(correction))
    assert statement.verdict != "agrees"
    assert statement.exit_status == 1


@ALL
def test_the_correction_that_stayed_silent_is_the_cause(
    run: Run, correction: dict[str, object]
) -> None:
    statement = told(run, one_sheet(correction))
    assert [cause.correction for cause in statement.causes] == [correction["id"]]
    assert "the ECU did not" in first(statement).says
    assert first(statement).entry is None


@ALL
def test_an_ecu_that_leaves_a_correction_out_does_not_run_that_sheet(
    run: Run, correction: dict[str, object]
) -> None:
    statement = told(run, one_sheet(correction))
    assert statement.running is not None
    assert statement.running.best is None
    assert not statement.running.matches_supplied


@pytest.mark.parametrize(("run", "correction"), [HOT, GUARD, HELD], ids=["hot", "guard", "held"])
def test_a_protection_that_stayed_silent_is_called_so_before_any_load(
    run: Run, correction: dict[str, object]
) -> None:
    step = first(told(run, one_sheet(correction))).next_step
    assert "protection stayed silent" in step
    assert "before any load" in step


def test_a_lever_that_did_nothing_protects_nothing() -> None:
    run, correction = LEVER
    assert "protection" not in first(told(run, one_sheet(correction))).next_step


def test_the_silent_guard_is_named_beside_a_correction_that_acted() -> None:
    run = with_low_oil(climb()).post("charge-air", along(climb(), AIR, AT, DEG))
    statement = told(run, sheet("rev-d.toml", "D", [charge_air(DEG), oil_guard(-8.0)]))
    says = {cause.correction: cause.says for cause in statement.causes}
    assert set(says) == {"charge-air", "oil-guard"}
    assert "did not" in says["oil-guard"]
    assert "took" in says["charge-air"]
    assert statement.running is not None
    assert statement.running.best is None


def test_a_guard_that_acted_in_one_log_and_not_in_the_next_is_told_as_both() -> None:
    worked = with_low_oil(climb())
    worked = worked.post("oil-guard", -8.0 * (worked.extra["Oil gallery"] < 200.0))
    statement = told_of([worked, with_low_oil(climb())], one_sheet(oil_guard(-8.0)))
    silent = [cause for cause in statement.causes if "did not" in cause.says]
    assert [statement.episodes[i].log for cause in silent for i in cause.episodes] == [1]
    assert statement.running is not None
    assert not statement.running.matches_supplied


@ALL
def test_what_stayed_silent_in_several_logs_is_one_cause(
    run: Run, correction: dict[str, object]
) -> None:
    once, thrice = told(run, one_sheet(correction)), told_of([run] * 3, one_sheet(correction))
    (cause,) = thrice.causes
    assert {thrice.episodes[i].log for i in cause.episodes} == {0, 1, 2}
    assert cause.degrees == pytest.approx(first(once).degrees)
    assert cause.seconds == pytest.approx(3 * first(once).seconds)
    assert cause.certainty >= first(once).certainty


def test_each_silent_correction_has_the_stretches_in_which_it_should_have_acted() -> None:
    run = with_low_oil(with_lever(climb(), during(climb(), 10.0, 15.0)))
    statement = told(run, sheet("rev-d.toml", "D", [LEVER[1], oil_guard(-8.0)]))
    starts = {
        cause.correction: [round(statement.episodes[i].start_s) for i in cause.episodes]
        for cause in statement.causes
    }
    assert starts == {"wet-road": [10], "oil-guard": [24]}


@ALL
def test_a_second_sheet_that_lacks_it_and_fits_is_the_running_one(
    run: Run, correction: dict[str, object]
) -> None:
    statement = told(run, one_sheet(correction), sheet("rev-c.toml", "C"))
    assert statement.running is not None
    assert statement.running.best == "C"
    assert not statement.running.matches_supplied
    assert "Behaves like revision C, not D" in statement.headline


def test_a_correction_whose_condition_never_held_was_rightly_silent() -> None:
    dry = with_lever(climb(), climb().times < 0)
    statement = told(dry, one_sheet(LEVER[1]))
    assert statement.verdict == "agrees"
    assert statement.running is not None
    assert statement.running.best == "D"


@ALL
def test_a_second_sheet_that_fits_for_want_of_it_is_no_agreement(
    run: Run, correction: dict[str, object]
) -> None:
    for other in ([], [{**correction, "enabled": False}]):
        statement = told(run, one_sheet(correction), sheet("rev-c.toml", "C", other))
        assert statement.exit_status == 1
        assert [cause.correction for cause in statement.causes] == [correction["id"]]
        assert "as revision D has it, but the ECU did not" in first(statement).says
        assert first(statement).episodes
