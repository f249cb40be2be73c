"""An idle governor is told as one beside other rules, and suspected where it cannot be seen."""

from dataclasses import replace

import numpy as np
import pytest

from tests.explain.parts import LEVER, closed_below, drive, during, governing, with_lever
from tests.explain.told import told
from tests.runs import TOLERANCE, Run, climb, sheet
from tuneledger.arrays import FloatArray
from tuneledger.explain.model import Cause

RUN = climb()
GOVERNOR = governing(
    (-200.0, 0.0, 170.0), closed_below(2.0), name="governor", title="Idle governor"
)


def governed(run: Run) -> Run:
    """Closed throttle, against the speed error, held at the end of its range on the overrun."""
    error = run.signals["idle speed target"] - run.signals["engine speed"]
    posted = np.interp(error, [-200, 0, 170], [-6, 0, 5])
    closed = run.signals["throttle position"] < 2
    return run.post("governor", np.where(closed, np.round(posted, 1), 0.0))


def without_speed(run: Run) -> Run:
    """The log of a car whose logger does not carry engine speed; its road speed it does."""
    road = run.signals["engine speed"] * 0.02
    kept = {name: v for name, v in run.signals.items() if name != "engine speed"}
    return replace(run, signals={**kept, "vehicle speed": road})


def idle_work(causes: tuple[Cause, ...]) -> list[Cause]:
    return [cause for cause in causes if "idle governor" in cause.says.lower()]


@pytest.mark.parametrize(
    ("spans", "degrees"),
    [
        (((4, 6), (30, 34), (56, 58)), -8.0),
        (((2, 3), (25, 28), (37, 38), (45, 48), (57, 58)), -5.0),
    ],
)
def test_a_governor_beneath_another_rule_is_still_the_governor(
    spans: tuple[tuple[float, float], ...], degrees: float
) -> None:
    on = np.any([during(RUN, *span) for span in spans], axis=0)
    statement = told(governed(with_lever(RUN, on)).post("hidden", np.where(on, degrees, 0.0)))
    assert statement.verdict == "explained"
    assert [cause.expected for cause in idle_work(statement.causes)] == [True]
    others = [cause for cause in statement.causes if not cause.expected]
    assert len(others) == 1
    assert f"{LEVER} is 1" in others[0].says


@pytest.mark.parametrize(("hidden", "until_s"), [(-2.0, 48.0), (-4.0, 45.0)])
def test_a_listed_governor_that_cannot_be_computed_is_the_likelier(
    hidden: float, until_s: float
) -> None:
    """A rule that nobody wrote down acts until the throttle closes, and as soon as it opens."""
    plate = RUN.signals["throttle position"]
    opened = np.where(during(RUN, 24, until_s) & (plate >= 2), hidden, 0.0)
    run = without_speed(governed(RUN).post("hidden", opened))
    statement = told(run, sheet("rev-d.toml", "D", [GOVERNOR]))
    (suspected,) = (cause for cause in statement.causes if cause.correction == "governor")
    worked = np.abs(run.entries[0].values) > TOLERANCE
    assert suspected.seconds > 0.9 * 0.05 * float(worked.sum())
    assert "−6.0° to +2.4°" in suspected.says
    assert any(need.what == "engine speed" for need in statement.needs)


def test_without_a_sheet_and_an_engine_speed_it_is_perhaps_the_governor() -> None:
    statement = told(without_speed(governed(RUN)))
    work = [cause for cause in statement.causes if cause.kind == "hidden rule"]
    assert work
    assert all(cause.certainty < 0.8 for cause in work)
    assert any(cause.says.startswith("Perhaps the idle governor") for cause in work)


def idling(moving: FloatArray, *, followed: bool = True) -> Run:
    """Idles and short drives; no idle target is logged, and the one that the ECU has moves.

    moving: what the target is, rpm per row; followed: whether the engine goes where it goes
    """
    t = np.arange(moving.size) / 20.0
    plate = np.interp(t % 16.0, [0, 9, 9.4, 13, 13.4, 16], [0, 0, 45, 40, 0, 0])
    about = 25 * np.sin(5.1 * t) + 18 * np.sin(8.3 * t + 1.0)
    settled = moving if followed else np.full_like(moving, 900.0)
    climbed = np.interp(t % 16.0, [0, 9, 10, 13, 14.5, 16], [0, 0, 1900, 2400, 500, 0])
    run = drive(np.round(settled + climbed + about), plate, np.interp(plate, [0, 100], [35, 190]))
    posted = np.interp(moving - run.signals["engine speed"], (-300, 0, 250), (-8, 0, 7))
    kept = {name: v for name, v in run.signals.items() if name != "idle speed target"}
    return replace(run, signals=kept).post(
        "governor", np.where(plate < 1, np.round(posted, 1), 0.0)
    )


SECONDS = np.arange(2400) / 20.0
WARMING = np.interp(SECONDS, [0, 90], [1200, 900])
STEPPING = np.where(SECONDS % 37 < 16, 1010.0, 880.0)


@pytest.mark.parametrize("moving", [WARMING, STEPPING], ids=["warming up", "with a switch"])
def test_a_governor_about_a_target_that_moves_and_is_not_logged_is_ordinary(
    moving: FloatArray,
) -> None:
    statement = told(idling(moving))
    assert statement.verdict == "expected"
    (cause,) = statement.causes
    assert cause.expected
    assert "idle governor" in cause.says
    assert 0.8 <= cause.certainty <= 0.95


def test_a_target_that_only_the_spark_tells_is_less_sure_and_told_as_such() -> None:
    (cause,) = told(idling(WARMING)).causes
    assert cause.certainty <= 0.9
    assert any("would have moved between 900 and 1200 rpm" in one.says for one in cause.evidence)


def test_a_target_that_moves_without_the_engine_is_only_suspected_and_asked_for() -> None:
    statement = told(idling(STEPPING + 60.0, followed=False))
    assert statement.verdict in ("cannot tell", "unexplained")
    assert all(cause.certainty < 0.8 for cause in idle_work(statement.causes))


@pytest.mark.parametrize("seconds", [20.0, 37.0])
def test_what_a_switch_takes_at_closed_throttle_is_no_governor(seconds: float) -> None:
    run = idling(np.full(2400, 900.0))
    on = (SECONDS % seconds < 8.0) & (run.signals["throttle position"] < 1)
    bare = replace(run, entries=()).carry("Cooler", (SECONDS % seconds < 8.0).astype(float))
    statement = told(bare.post("x", np.where(on, -3.0, 0.0)))
    assert not idle_work(statement.causes)
    assert "Cooler" in statement.causes[0].says
