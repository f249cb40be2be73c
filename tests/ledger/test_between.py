"""Scheduled and delivered that are slower than the file they lie in, and late besides."""

from dataclasses import replace

import numpy as np
import pytest

from tests.explain.told import kinds
from tests.runs import Cells, Run, account, climb
from tuneledger.accounting import reconcile
from tuneledger.arrays import FloatArray
from tuneledger.statement.model import Statement, SuppliedSheet
from tuneledger.supplied import Supplied

RATE_HZ = 200.0


def lively() -> Run:
    """The climb with a map that never rests, as on a road, unrounded."""
    run = climb(rate_hz=RATE_HZ)
    t = run.times
    moving = np.array([r != "idle" for r in run.regime])
    path = run.scheduled + moving * (3.0 * np.sin(2.1 * t) + 2.0 * np.sin(5.3 * t + 1.0))
    smooth = np.convolve(np.pad(path, 20, mode="edge"), np.ones(41) / 41.0, mode="valid")
    return replace(run, scheduled=smooth)


def logged(values: FloatArray, *, every: int, step: float, way: str, phase: int = 0) -> FloatArray:
    """A channel as a logger writes it that samples it in one row of `every`."""
    rows = np.arange(values.size)
    at = np.arange(phase, values.size, every)
    own = np.round(values[at] / step) * step
    if way == "held":
        return np.where(rows < phase, own[0], own[np.maximum(rows - phase, 0) // every])
    if way == "joined":
        return np.round(np.interp(rows, at, own), 2)
    cells = np.full(values.size, np.nan)
    cells[at] = own
    return cells


def late(values: FloatArray, seconds: float) -> FloatArray:
    rows = round(seconds * RATE_HZ)
    return values[np.clip(np.arange(values.size) - rows, 0, None)]


def told(run: Run, asked: FloatArray, given: FloatArray, *sheets: SuppliedSheet) -> Statement:
    """The statement on a log that holds these two as its scheduled and delivered."""
    made = account(run, "run.csv")
    names = [channel.name for channel in made.log.channels]
    columns = [made.log.columns.numbers(i) for i in range(len(names))]
    columns[names.index("Adv asked")], columns[names.index("Adv given")] = asked, given
    log = replace(made.log, columns=Cells(columns), _numbers={})
    return reconcile(Supplied(((log, made.roles),), sheets))


def note(statement: Statement, word: str) -> str:
    return next((one for one in statement.notes if word in one), "")


@pytest.mark.parametrize("way", ["held", "joined", "empty"])
@pytest.mark.parametrize(
    ("every", "steps", "late_s"),
    [
        ((4, 8), (0.5, 0.75), 0.1),
        ((4, 8), (0.5, 0.75), 0.3),
        ((10, 20), (0.1, 0.1), 0.06),
        ((20, 4), (0.1, 0.5), 0.15),
        ((10, 1), (0.1, 0.1), 0.05),
        ((1, 20), (0.25, 0.25), 0.1),
    ],
)
def test_slow_channels_that_follow_each_other_agree(
    way: str, every: tuple[int, int], steps: tuple[float, float], late_s: float
) -> None:
    run = lively()
    asked = logged(run.scheduled, every=every[0], step=steps[0], way=way)
    given = logged(late(run.scheduled, late_s), every=every[1], step=steps[1], way=way, phase=3)
    statement = told(run, asked, given)
    assert statement.verdict == "agrees"
    found_ms = float(note(statement, "lag is taken out").split(" ms")[0].split()[-1].strip("("))
    assert found_ms == pytest.approx(1000.0 * late_s, abs=10.0 + 200.0 * max(every) / RATE_HZ)


@pytest.mark.parametrize("steps", [(0.5, 0.75), (0.25, 1.0), (0.1, 0.5), (0.75, 0.5)])
@pytest.mark.parametrize("late_s", [0.05, 0.25, 0.4, -0.3])
def test_a_lag_is_found_whatever_steps_the_two_are_logged_in(
    steps: tuple[float, float], late_s: float
) -> None:
    run = lively()
    early, behind = run.scheduled, late(run.scheduled, abs(late_s))
    one, other = (early, behind) if late_s > 0 else (behind, early)
    asked = logged(one, every=1, step=steps[0], way="held")
    given = logged(other, every=1, step=steps[1], way="held")
    assert told(run, asked, given).verdict == "agrees"


@pytest.mark.parametrize("way", ["held", "joined", "empty"])
@pytest.mark.parametrize("lasts_s", [0.25, 1.5])
def test_a_short_loss_in_a_slow_channel_is_still_seen(way: str, lasts_s: float) -> None:
    run = lively()
    lost = np.zeros(run.times.size)
    for begins in (14.0, 25.0, 33.0):
        lost[(run.times >= begins) & (run.times < begins + lasts_s)] = -5.0
    asked = logged(run.scheduled, every=4, step=0.1, way=way)
    given = logged(late(run.scheduled + lost, 0.1), every=10, step=0.1, way=way)
    statement = told(run, asked, given)
    assert [(round(e.start_s), e.difference_deg) for e in statement.episodes] == [
        (begins, pytest.approx(-5.0, abs=0.4)) for begins in (14, 25, 33)
    ]
    assert set(kinds(statement)) == {"unknown"}


def test_a_step_that_only_the_loggers_lines_have_is_not_said_to_be_the_channels() -> None:
    run = lively()
    asked = logged(run.scheduled, every=4, step=0.5, way="joined")
    given = logged(run.scheduled, every=8, step=0.5, way="joined")
    statement = told(run, asked, given)
    assert "delivered advance is logged to 0.5°" in note(statement, "no finer")
    assert "scheduled advance is logged to 0.5°" in note(statement, "no finer")
    assert "one row of 8; the straight lines" in note(statement, "delivered advance has a sample")
