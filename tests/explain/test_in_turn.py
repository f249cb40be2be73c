"""The running revision changes on the way, by an edit made live, or from one log to the next."""

from typing import Any

import numpy as np
import pytest

from tests.explain.parts import AIR, AT, during, only, switched, with_lever, with_spark
from tests.explain.told import first, kinds, told, told_of
from tests.runs import Run, along, charge_air, climb, sheet
from tuneledger.pages.paper import head
from tuneledger.statement.facts import running
from tuneledger.statement.model import Statement

EASED, STRICT, HARD = (0.0, 0.0, -2.0, -5.0), (0.0, -1.0, -4.0, -7.0), (0.0, -3.0, -6.0, -9.0)
D = sheet("rev-d.toml", "D", [charge_air(EASED)])
C = sheet("rev-c.toml", "C", [charge_air(STRICT)])
B = sheet("rev-b.toml", "B", [charge_air(HARD)])
RUN = climb()


def taken(curve: tuple[float, ...], run: Run = RUN) -> Any:
    return along(run, AIR, AT, curve)


def in_turn(at_s: float, before: tuple[float, ...], after: tuple[float, ...]) -> Run:
    """The climb with one curve until a moment, and the other from it on."""
    return RUN.post("x", np.where(RUN.times < at_s, taken(before), taken(after)))


def stations(statement: Statement) -> list[tuple[int, str | None]]:
    assert statement.running is not None
    return [(span.log, span.revision) for span in statement.running.spans]


@pytest.mark.parametrize(
    ("at_s", "before", "after"),
    [
        (14.0, EASED, STRICT),
        (20.0, STRICT, EASED),
        (28.0, HARD, EASED),
        (41.0, STRICT, EASED),
        (52.0, EASED, STRICT),
    ],
)
def test_an_edit_made_live_is_placed_within_a_second(at_s: float, before: Any, after: Any) -> None:
    names = {EASED: "D", STRICT: "C", HARD: "B"}
    statement = told(in_turn(at_s, before, after), D, C, B)
    assert stations(statement) == [(0, names[before]), (0, names[after])]
    assert statement.running is not None
    one, two = statement.running.spans
    assert one.end_s == two.start_s == pytest.approx(at_s, abs=1.0)
    assert one.start_s == 0.0
    assert two.end_s == RUN.times[-1]
    assert not statement.running.matches_supplied
    assert statement.running.best == names[before if at_s > 30.0 else after]
    assert statement.running.certainty >= 0.9


def test_what_each_revision_posted_is_told_by_itself() -> None:
    statement = told(in_turn(30.0, EASED, STRICT), D, C)
    assert kinds(statement) == ["other revision", "correction"]
    assert [cause.revision for cause in statement.causes] == ["C", "D"]
    late = RUN.times >= 30.0
    assert first(statement).degrees == pytest.approx(taken(STRICT)[late].mean(), abs=0.05)
    assert first(statement).seconds == pytest.approx(30.0, abs=0.2)
    assert statement.verdict == "explained"
    assert "until 30 s, then like C" in statement.headline
    assert "revision D until 30 s, then like C" in head(statement)
    assert "Read the ECU back" in statement.headline
    assert "save what is in the car" in first(statement).next_step


def test_what_was_switched_off_on_the_way_is_no_second_cause() -> None:
    off = sheet("rev-c.toml", "C", [{**charge_air(STRICT), "enabled": False}])
    on = sheet("rev-d.toml", "D", [charge_air(STRICT)])
    statement = told(in_turn(30.0, STRICT, (0.0, 0.0, 0.0, 0.0)), on, off)
    assert [(cause.correction, cause.revision) for cause in statement.causes] == [
        ("charge-air", "D")
    ]
    assert "then like C" in statement.headline


def test_the_account_balances_throughout() -> None:
    ledger = told(in_turn(30.0, EASED, STRICT), D, C).logs[0].ledger
    assert ledger is not None
    assert np.nanmax(np.abs(ledger.unaccounted)) <= 0.3
    assert [entry.revision for entry in ledger.entries if entry.correction == "charge-air"] == [
        "D",
        "C",
    ]


def test_to_and_fro_is_three_spans() -> None:
    rows = during(RUN, 24.0, 40.0)
    statement = told(RUN.post("x", np.where(rows, taken(HARD), taken(EASED))), D, B)
    assert stations(statement) == [(0, "D"), (0, "B"), (0, "D")]
    assert statement.running is not None
    assert statement.running.best == "D"


def test_where_the_log_cannot_say_when_it_says_between_when() -> None:
    # The revisions differ only while the lever is on: from 14 to 18 s and from 44 to 48 s.
    rows = during(RUN, 14.0, 18.0) | during(RUN, 44.0, 48.0)
    run = with_lever(RUN, rows).post("x", np.where(during(RUN, 14.0, 18.0), -4.0, 0.0))
    with_it, without = [
        sheet(f"rev-{name.lower()}.toml", name, [switched("wet", -4.0, enabled=name == "C")])
        for name in "CD"
    ]
    statement = told(run, without, with_it)
    assert stations(statement) == [(0, "C"), (0, "D")]
    assert statement.running is not None
    began = statement.running.spans[1].began_s
    assert began is not None
    assert began == pytest.approx((18.0, 44.0), abs=0.3)
    assert any("somewhere between" in note for note in statement.notes)


def test_a_change_at_a_standstill_is_placed_at_it() -> None:
    rows = during(RUN, 14.0, 18.0) | during(RUN, 44.0, 48.0)
    speed = np.where(during(RUN, 38.0, 40.0), 0.0, RUN.signals["engine speed"])
    run = with_lever(RUN, rows).post("x", np.where(during(RUN, 14.0, 18.0), -4.0, 0.0))
    run = type(RUN)(**{**run.__dict__, "signals": {**RUN.signals, "engine speed": speed}})
    with_it = sheet("rev-c.toml", "C", [switched("wet", -4.0)])
    statement = told(run, sheet("rev-d.toml", "D"), with_it)
    assert statement.running is not None
    assert statement.running.spans[1].start_s == pytest.approx(40.0, abs=0.2)


def test_a_change_of_the_map_shows_in_scheduled() -> None:
    grid = D.calibration.spark.map
    values = np.array(grid.values) + np.array([[0.0], [0], [0], [-2], [-2]])
    moved = grid.model_copy(update={"values": tuple(map(tuple, values.tolist()))})
    other = with_spark(sheet("rev-e.toml", "E", [charge_air(EASED)]), map=moved)
    load = np.interp(RUN.signals["manifold absolute pressure"], [100.0, 150.0], [0.0, -2.0])
    late = RUN.times >= 30.0
    asked = RUN.scheduled + np.where(late, load, 0.0).round(1)
    run = type(RUN)(**{**RUN.__dict__, "scheduled": asked}).post("x", taken(EASED))
    statement = told(run, D, other)
    assert stations(statement) == [(0, "D"), (0, "E")]
    assert statement.running is not None
    assert statement.running.spans[1].start_s == pytest.approx(30.0, abs=1.0)
    told_map = next(cause for cause in statement.causes if cause.kind == "other map")
    assert told_map.revision == "E"


def test_logs_of_one_car_may_run_different_revisions() -> None:
    runs = [RUN.post("x", taken(curve)) for curve in (EASED, HARD, EASED)]
    statement = told_of(runs, D, C, B)
    assert stations(statement) == [(0, "D"), (1, "B"), (2, "D")]
    assert statement.running is not None
    assert statement.running.best == "D"
    assert "run-2.csv" in statement.headline
    assert "B" in statement.headline


@pytest.mark.parametrize("later", [HARD, EASED])
def test_a_rule_of_one_log_is_no_less_sure_for_a_log_that_ran_another_revision(later: Any) -> None:
    # The lever takes 3° under the one revision; under the other nobody wired it up.
    lever = during(RUN, 14.0, 18.0) | during(RUN, 33.0, 37.0) | during(RUN, 44.0, 48.0)
    before = with_lever(RUN, lever).post("x", taken(STRICT) + np.where(lever, -3.0, 0.0))
    after = with_lever(RUN, lever).post("x", taken(later))
    statement = told_of([before, after], C, D, B)
    name = {HARD: "B", EASED: "D"}[later]
    assert stations(statement) == [(0, "C"), (1, name)]
    (rule,) = [cause for cause in statement.causes if cause.kind == "hidden rule"]
    assert rule.certainty >= 0.8
    assert statement.verdict == "explained"
    like = f"like revision C in run-1.csv and like {name} in run-2.csv, but for"
    assert f"Behaves {like} what no sheet has" in statement.headline
    assert running(statement).startswith(f"{like} rule-1")
    assert like.removeprefix("like ") in head(statement)


def test_a_rule_that_a_log_of_the_same_revision_contradicts_is_no_longer_sure() -> None:
    lever = during(RUN, 14.0, 18.0) | during(RUN, 33.0, 37.0) | during(RUN, 44.0, 48.0)
    with_it = with_lever(RUN, lever).post("x", taken(STRICT) + np.where(lever, -3.0, 0.0))
    without, other = (with_lever(RUN, lever).post("x", taken(one)) for one in (STRICT, HARD))
    statement = told_of([with_it, without, other], C, B)
    assert stations(statement) == [(0, "C"), (1, "C"), (2, "B")]
    (rule,) = [cause for cause in statement.causes if cause.kind == "hidden rule"]
    assert rule.certainty < 0.8


# --- not at the price of inventing changes


def test_a_run_of_one_revision_is_one_span() -> None:
    for curve in (EASED, STRICT, HARD):
        assert len(stations(told(RUN.post("x", taken(curve)), D, C, B))) == 1


def test_noise_is_no_change() -> None:
    rng = np.random.default_rng(5)
    noise = np.round(0.12 * rng.standard_normal(RUN.times.size), 1)
    statement = told(RUN.post("x", taken(EASED) + noise), D, C, B)
    assert stations(statement) == [(0, "D")]


@pytest.mark.parametrize("degrees", [-6.0, -2.0, 3.0])
def test_an_event_of_another_kind_is_no_change(degrees: float) -> None:
    event = np.where(during(RUN, 44.0, 47.0), degrees, 0.0)
    run = with_lever(RUN, during(RUN, 44.0, 47.0)).post("x", taken(EASED) + event)
    assert len(stations(told(run, D, C, B))) <= 1


def test_a_brief_event_that_another_revision_would_give_is_no_change() -> None:
    brief = during(RUN, 44.0, 44.4)
    run = RUN.post("x", np.where(brief, taken(HARD), taken(EASED)))
    assert len(stations(told(run, D, B))) <= 1


def test_revisions_that_differ_by_less_than_the_tolerance_are_not_told_apart() -> None:
    near = sheet("rev-c.toml", "C", [charge_air((0.0, 0.0, -2.2, -5.2))])
    halves = np.where(RUN.times < 30.0, taken(EASED), taken((0.0, 0.0, -2.2, -5.2)))
    assert len(stations(told(RUN.post("x", halves), D, near))) == 1


def test_a_log_that_cannot_tell_the_revisions_apart_takes_no_part() -> None:
    cold = climb(warmth=-40.0)
    hot = RUN.post("x", taken(HARD))
    assert {name for _, name in stations(told_of([cold, hot, cold], D, B))} == {"B"}


def test_what_no_log_carries_makes_no_change() -> None:
    blind = only(in_turn(30.0, EASED, STRICT), "engine speed", "throttle position")
    assert len(stations(told(blind, D, C))) <= 1
