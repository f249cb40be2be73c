"""A correction that acts as its sheet has it stays that, whatever else acts elsewhere."""

from collections.abc import Callable

import numpy as np
import pytest

from tests.explain.parts import closed_below, drive, during, governing
from tests.explain.told import told
from tests.runs import Run, sheet
from tuneledger.arrays import BoolArray, FloatArray

SECONDS = np.arange(1800) / 20.0
GOVERNOR = governing(
    (-250.0, 0.0, 250.0),
    closed_below(1.5),
    name="tick-over",
    title="Tick-over trim",
    values=(-5.0, 0.0, 5.0),
)


def laps() -> Run:
    """Ninety seconds with the throttle open or shut, that never come down to an idle."""
    plate = np.interp(
        SECONDS,
        [0, 5, 5.6, 17, 17.4, 24, 24.5, 25.6, 26, 33, 33.5, 52, 52.4, 58, 58.5, 59.5, 60, 71, 71.5,
         90],
        [0, 0, 82, 88, 0, 0, 64, 66, 0, 0, 91, 95, 0, 0, 55, 57, 0, 0, 70, 74],
    )  # fmt: skip
    speed = 3900.0 + 900.0 * np.sin(0.37 * SECONDS) + 350.0 * np.sin(1.1 * SECONDS)
    speed = speed + 12.0 * np.interp(plate, [0, 100], [-40, 40])
    return drive(np.round(speed), np.round(plate, 1), np.interp(plate, [0, 100], [38, 190]))


def at_the_end_of_its_range(run: Run) -> FloatArray:
    """What the trim takes on the overrun, far above its target."""
    return np.where(run.signals["throttle position"] < 1.5, -5.0, 0.0)


def held_open(run: Run) -> BoolArray:
    """Throttle above 50 % for a second and a half."""
    out, since = np.zeros(run.times.size, dtype=np.bool_), 0.0
    for i, plate in enumerate(run.signals["throttle position"]):
        since = since + 0.05 if plate > 50 else 0.0
        out[i] = since > 1.5
    return out


def fast(run: Run) -> BoolArray:
    """Engine speed above 4200 rpm, until it is below 3700 rpm."""
    on, out = False, []
    for speed in run.signals["engine speed"]:
        on = speed > 4200 or (on and speed >= 3700)
        out.append(on)
    return np.array(out)


@pytest.mark.parametrize("hidden", [held_open, fast])
@pytest.mark.parametrize("degrees", [-4.0, -6.0])
def test_a_governor_that_runs_as_written_is_not_fitted_anew_beside_a_rule_elsewhere(
    hidden: Callable[[Run], BoolArray], degrees: float
) -> None:
    run = laps()
    posted = np.where(hidden(run), degrees, 0.0)
    run = run.post("tick-over", at_the_end_of_its_range(run)).post("hidden", posted)
    statement = told(run, sheet("rev-d.toml", "D", [GOVERNOR]))
    (own,) = (cause for cause in statement.causes if cause.correction == "tick-over")
    assert own.kind == "correction"
    assert own.revision == "D"
    assert own.certainty >= 0.95
    assert not any("not with the numbers" in cause.says for cause in statement.causes)


def test_one_with_other_numbers_is_told_as_that_beside_the_same_rule() -> None:
    run = laps()
    took = 1.5 * at_the_end_of_its_range(run)
    run = run.post("tick-over", took).post("hidden", np.where(held_open(run), -4.0, 0.0))
    statement = told(run, sheet("rev-d.toml", "D", [GOVERNOR]))
    (own,) = (cause for cause in statement.causes if cause.correction == "tick-over")
    assert "not with the numbers that revision D has" in own.says
    assert own.degrees == pytest.approx(-7.5, abs=0.1)


@pytest.mark.parametrize("at_s", [[24.0], [33.1], [24.0, 58.1]])
def test_what_is_left_for_moments_at_its_edges_is_no_reason_to_fit_it_anew(
    at_s: list[float],
) -> None:
    run = laps()
    moments = np.any([during(run, s, s + 0.35) for s in at_s], axis=0)
    took = np.where(moments, -5.0, at_the_end_of_its_range(run))
    run = run.post("tick-over", took).post("hidden", np.where(held_open(run), -4.0, 0.0))
    statement = told(run, sheet("rev-d.toml", "D", [GOVERNOR]))
    (own,) = (cause for cause in statement.causes if cause.correction == "tick-over")
    assert own.revision == "D"
