"""Several sheets: like which one the ECU behaves."""

import itertools
from dataclasses import replace

import numpy as np
import pytest

from tests.explain.parts import drive, with_spark
from tests.explain.told import first, kinds, told, told_of
from tests.runs import along, charge_air, climb, sheet
from tuneledger.statement.model import SuppliedSheet
from tuneledger.statement.text import as_text

AIR = "intake air temperature"
AT = (20.0, 40.0, 60.0, 80.0)
EASED, STRICT, HARD = (0.0, 0.0, -2.0, -5.0), (0.0, -1.0, -4.0, -7.0), (0.0, -3.0, -6.0, -9.0)
D = sheet("rev-d.toml", "D", [charge_air(EASED)])
C = sheet("rev-c.toml", "C", [charge_air(STRICT)])
B = sheet("rev-b.toml", "B", [charge_air(HARD)])


@pytest.mark.parametrize("order", list(itertools.permutations([B, C, D])))
def test_the_running_revision_is_found_in_whatever_order_the_sheets_come(order: tuple) -> None:  # type: ignore[type-arg]
    statement = told(climb().post("x", along(climb(), AIR, AT, STRICT)), *order)
    assert statement.running is not None
    assert statement.running.best == "C"
    assert statement.running.supplied == order[0].calibration.revision
    assert statement.running.matches_supplied == (order[0] is C)
    assert statement.running.certainty >= 0.9
    assert kinds(statement) == ["correction" if order[0] is C else "other revision"]


def test_a_sheet_that_no_log_fits_is_not_the_running_one() -> None:
    run = climb()
    odd = np.where((run.times > 24) & (run.times < 36), -11.0, 0.0)
    statement = told(run.post("x", odd), D)
    assert statement.running is not None
    assert statement.running.best is None
    assert not statement.running.matches_supplied


def test_two_revisions_that_this_log_cannot_tell_apart_are_said_to_be_so() -> None:
    cold = climb(warmth=-40.0)
    statement = told(cold, D, C)
    assert statement.running is not None
    assert statement.running.best == "D"
    assert statement.running.certainty <= 0.6
    assert any("cannot tell it from" in note for note in statement.notes)


def test_another_map_posts_its_difference_where_scheduled_is_not_logged() -> None:
    values = np.array(D.calibration.spark.map.values) + np.array([[0], [0], [0], [-2], [-2]])
    other = type(D)(
        "rev-e.toml",
        D.calibration.model_copy(
            update={
                "revision": "E",
                "spark": D.calibration.spark.model_copy(
                    update={
                        "map": D.calibration.spark.map.model_copy(
                            update={"values": tuple(map(tuple, values.tolist()))}
                        ),
                        "correction": (),
                    }
                ),
            }
        ),
    )
    plain = sheet("rev-d.toml", "D")
    statement = told(climb(), other, plain, logged=False)
    assert statement.running is not None
    assert statement.running.best == "D"
    ledger = statement.logs[0].ledger
    assert ledger is not None
    assert [entry.correction for entry in ledger.entries if np.any(entry.values)] == ["other-map"]


def test_several_logs_of_one_car_are_explained_together() -> None:
    hot = climb().post("x", along(climb(), AIR, AT, STRICT))
    cold = climb(warmth=-40.0)
    statement = told_of([cold, hot], D, C)
    assert statement.running is not None
    assert statement.running.best == "C"
    assert {episode.log for episode in statement.episodes} == {1}
    assert first(statement).kind == "other revision"


def cell_moved(made: SuppliedSheet, cell: tuple[int, int], by: float, name: str) -> SuppliedSheet:
    """The sheet as another revision, with one number of its map moved."""
    grid = made.calibration.spark.map
    values = np.array(grid.values)
    values[cell] += by
    other = with_spark(
        made, map=grid.model_copy(update={"values": tuple(map(tuple, values.tolist()))})
    )
    named = other.calibration.model_copy(update={"revision": name})
    return replace(other, file=f"rev-{name.lower()}.toml", calibration=named)


PLAIN = sheet("rev-c.toml", "C")
T = climb().times
# About 2500 rpm and 90 kPa, now and then just above 100 kPa.
GENTLE = drive(2500 + 400 * np.sin(T), 40 + 0 * T, 92 + 9 * np.cos(0.3 * T))
DRIVEN_ELSEWHERE = cell_moved(PLAIN, (1, 1), 3.0, "E")
NEVER_DRIVEN = cell_moved(PLAIN, (4, 4), -4.0, "D")
GRAZED = cell_moved(PLAIN, (3, 2), -4.0, "D")


@pytest.mark.parametrize("order", [(0, 1, 2), (0, 2, 1)])
def test_a_headline_names_all_the_revisions_that_fit_alike(order: tuple[int, ...]) -> None:
    three = [DRIVEN_ELSEWHERE, NEVER_DRIVEN, PLAIN]
    statement = told(GENTLE, *(three[i] for i in order))
    assert statement.running is not None
    assert statement.running.certainty <= 0.5
    either = "D or C" if order[1] == 1 else "C or D"
    assert f"revision {either}, which this log cannot tell apart, not E" in statement.headline
    assert f"revision {either}" in as_text(statement)
    assert all(cause.certainty >= 0.8 for cause in statement.causes)  # both have it so


def test_where_the_revisions_differ_that_fit_alike_is_told() -> None:
    statement = told(GENTLE, PLAIN, NEVER_DRIVEN)
    assert statement.verdict == "agrees"
    assert "This log cannot tell revision C from D." in statement.headline
    (note,) = [note for note in statement.notes if "D in place of C" in note]
    assert "−4.0° at 200 kPa, 7000 rpm" in note
    (asked,) = [one.sentence for one in statement.experiments]
    assert "200 kPa, 7000 rpm" in asked


def test_of_several_logs_it_is_said_that_these_cannot_tell() -> None:
    statement = told_of([GENTLE, GENTLE], PLAIN, NEVER_DRIVEN)
    assert "These logs cannot tell revision C from D." in statement.headline
    assert any("these logs cannot tell it from D" in note for note in statement.notes)
    others = told_of([GENTLE, GENTLE], DRIVEN_ELSEWHERE, NEVER_DRIVEN, PLAIN)
    assert "which these logs cannot tell apart, not E" in others.headline
    assert others.headline.count("cannot tell") == 1  # once is enough
    one = " ".join(as_text(told(GENTLE, PLAIN, NEVER_DRIVEN)).split())
    assert "this log cannot tell them apart" in one


def test_a_cell_that_the_run_only_grazed_is_not_among_what_was_seen() -> None:
    statement = told(GENTLE, DRIVEN_ELSEWHERE, GRAZED)
    assert statement.loading is not None
    seen = {one.seen: one.what for one in statement.loading.differences}
    assert "150 kPa, 3500 rpm" in seen[False]
    assert "70 kPa, 2000 rpm" in seen[True]


def test_what_only_one_of_two_revisions_has_that_fit_alike_is_no_surer_than_the_tie() -> None:
    run = climb()
    on = (run.times > 24) & (run.times < 34)
    run = run.carry("Lamp", on.astype(float)).carry("Fan", on.astype(float))
    run = run.post("x", np.where(on, -4.0, 0.0))
    lamp, fan = (
        sheet(f"rev-{name.lower()}.toml", name, [switch_of(channel)])
        for name, channel in (("F", "Lamp"), ("G", "Fan"))
    )
    statement = told(run, sheet("rev-e.toml", "E"), lamp, fan)
    assert first(statement).certainty <= 0.5
    assert statement.verdict == "unexplained"
    assert "F or G, which this log cannot tell apart" in statement.headline


def switch_of(channel: str) -> dict[str, object]:
    on = [{"channel": channel, "is": "on"}]
    return {"id": channel.lower(), "amount": -4.0, "when": on}


def test_revisions_that_read_differently_what_is_not_logged_fit_alike() -> None:
    run = climb()
    taken = np.where((run.times > 24) & (run.times < 34), -4.0, 0.0)
    hot = [
        sheet(f"rev-{name.lower()}.toml", name, [oil_hot(above)])
        for name, above in (("E", 120.0), ("D", 110.0))
    ]
    statement = told(run.post("x", taken), *hot)
    assert statement.verdict == "cannot tell"
    assert statement.running is not None
    assert statement.running.certainty <= 0.5
    assert "This log cannot tell revision E from D." in statement.headline
    assert len({one.sentence for one in statement.experiments}) == len(statement.experiments) == 1


def oil_hot(above: float) -> dict[str, object]:
    hot = [{"signal": "oil temperature", "unit": "degC", "above": above}]
    return {"id": "oil-hot", "reason": "oil temperature", "amount": -4.0, "when": hot}
