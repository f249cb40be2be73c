"""Several logs of one car: what is found in two of them is one cause, and must hold in all."""

import numpy as np
import pytest

from tests.explain.parts import (
    AIR,
    AT,
    DEG,
    LEVER,
    during,
    every_episode_has_a_cause,
    oil_guard,
    switched,
    with_lever,
)
from tests.explain.told import first, kinds, told, told_of
from tests.runs import Run, along, charge_air, climb, sheet

RUN = climb()
D = sheet("rev-d.toml", "D")


def pulled(a: float, b: float, degrees: float = -4.0) -> Run:
    """The lever is on for four seconds and for three, and takes degrees."""
    rows = during(RUN, a, a + 4) | during(RUN, b, b + 3)
    return with_lever(RUN, rows).post("x", np.where(rows, degrees, 0.0))


@pytest.mark.parametrize("sheets", [(), (D,)])
@pytest.mark.parametrize("starts", [[(24, 42), (12, 44)], [(24, 42), (12, 44), (10, 30)]])
def test_a_rule_found_in_several_logs_is_one_cause_fitted_on_all(sheets, starts):  # type: ignore[no-untyped-def]
    statement = told_of([pulled(*start) for start in starts], *sheets)
    assert kinds(statement) == ["hidden rule"]
    cause = first(statement)
    assert cause.rule is not None
    assert [one["channel"] for one in cause.rule.when] == [LEVER]
    assert cause.degrees == pytest.approx(-4.0, abs=0.1)
    assert cause.seconds == pytest.approx(7.0 * len(starts), abs=0.4)
    assert every_episode_has_a_cause(statement)
    entries = {e.correction for a in statement.logs for e in a.ledger.entries if np.any(e.values)}
    assert entries == {"rule-1"}


def test_two_logs_make_a_rule_surer_than_one() -> None:
    assert (
        first(told_of([pulled(24, 42), pulled(12, 44)])).certainty
        >= first(told(pulled(24, 42))).certainty
    )


def test_what_one_log_cannot_tell_apart_another_decides() -> None:
    both = pulled(24, 42)
    both = both.carry("Blower", both.extra[LEVER])
    assert first(told(both)).alternatives
    elsewhere = during(RUN, 20.0, 30.0).astype(float)
    lever_only = RUN.carry(LEVER, elsewhere).carry("Blower", 0.0 * RUN.times)
    blower_only = RUN.carry(LEVER, 0.0 * RUN.times).carry("Blower", elsewhere)
    for other, right in ((lever_only, "Blower"), (blower_only, LEVER)):
        for logs in ([both, other], [other, both]):
            cause = first(told_of(logs))
            assert cause.rule is not None
            assert [one["channel"] for one in cause.rule.when] == [right]
            # Whether the other has to be on as well, neither log shows.
            for rule in cause.alternatives:
                assert right in [one["channel"] for one in rule.when]


def test_a_rule_that_another_log_contradicts_is_no_longer_sure() -> None:
    silent = with_lever(RUN, during(RUN, 20.0, 30.0))
    statement = told_of([pulled(24, 42), silent])
    assert all(cause.certainty < 0.8 for cause in statement.causes if cause.kind == "hidden rule")
    assert statement.verdict == "unexplained"


def test_two_rules_of_two_logs_stay_two() -> None:
    rows = during(RUN, 44.0, 50.0)
    other = RUN.carry(LEVER, 0.0 * RUN.times).carry("Blower", rows.astype(float))
    other = other.post("y", np.where(rows, 3.0, 0.0))
    statement = told_of([pulled(24, 42).carry("Blower", 0.0 * RUN.times), other])
    assert kinds(statement) == ["hidden rule", "hidden rule"]
    assert sorted(round(cause.degrees) for cause in statement.causes) == [-4, 3]


def test_a_listed_correction_in_two_logs_is_one_cause() -> None:
    hot = RUN.post("charge-air", along(RUN, AIR, AT, DEG))
    statement = told_of([hot, hot], sheet("rev-d.toml", "D", [charge_air(DEG)]))
    assert kinds(statement) == ["correction"]
    alone = first(told(hot, sheet("rev-d.toml", "D", [charge_air(DEG)])))
    assert first(statement).seconds == pytest.approx(2 * alone.seconds)


def test_a_suspicion_in_two_logs_is_one_and_its_channel_is_asked_for_once() -> None:
    rows = during(RUN, 24.0, 34.0)
    run = RUN.post("x", np.where(rows, -4.0, 0.0))
    statement = told_of([run, run], sheet("rev-d.toml", "D", [oil_guard(-4.0)]))
    assert kinds(statement) == ["correction"]
    assert first(statement).certainty < 0.8
    assert first(statement).seconds == pytest.approx(20.0, abs=0.3)
    assert len(statement.needs) == 1


def test_a_channel_that_carries_it_in_two_logs_is_one_cause() -> None:
    def carried(a: float, depth: float) -> Run:
        share = np.where(during(RUN, a, a + 6.0), depth * np.sin(RUN.times), 0.0).round(1)
        return RUN.post("x", share).carry("Share", share)

    statement = told_of([carried(24.0, -3.0), carried(42.0, -5.0)])
    assert [cause.channel for cause in statement.causes] == ["Share"]


def test_a_departure_in_one_log_only_is_told_with_that_log_s_degrees() -> None:
    on = with_lever(RUN).post("wet", np.where(during(RUN, 24.0, 34.0), -4.0, 0.0))
    quiet = with_lever(RUN, np.zeros(RUN.times.size, dtype=bool))
    statement = told_of([quiet, on], sheet("rev-d.toml", "D", [switched("wet", -4.0)]))
    assert kinds(statement) == ["correction"]
    assert {episode.log for episode in statement.episodes} == {1}
