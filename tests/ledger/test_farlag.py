"""Lags longer than a log of one device has."""

import numpy as np
import pytest

from tests.explain.told import kinds, told
from tests.runs import Run, along, charge_air, climb, sheet
from tuneledger.arrays import FloatArray
from tuneledger.ledger.farlag import far_lag

AIR, AT, DEG = "intake air temperature", (20.0, 40.0, 60.0, 80.0), (0.0, 0.0, -3.0, -6.0)


def later(values: FloatArray, rows: int) -> FloatArray:
    at = np.clip(np.arange(values.size) - rows, 0, values.size - 1)
    return values[at]


@pytest.mark.parametrize("rate_hz", [20.0, 100.0])
@pytest.mark.parametrize("late_s", [0.4, 0.7, 0.95, -0.5])
def test_delivered_that_comes_much_later_is_laid_over_scheduled_all_the_same(
    rate_hz: float, late_s: float
) -> None:
    run = climb(rate_hz=rate_hz)
    taken = along(run, AIR, AT, DEG)
    rows = round(late_s * rate_hz)
    late = run.post("x", later(run.scheduled + taken, rows) - run.scheduled)
    statement = told(late, sheet("rev-d.toml", "D", [charge_air(DEG)]))
    assert kinds(statement) == ["correction"]
    assert statement.causes[0].degrees == pytest.approx(taken[taken < -0.3].mean(), abs=0.2)
    assert any(f"{abs(late_s) * 1000:.0f} ms" in note for note in statement.notes)


def test_another_curve_is_no_lag() -> None:
    run: Run = climb()
    other = 20.0 + 8.0 * np.sin(run.times * 1.3)
    assert not far_lag(run.scheduled, other, steps=(0.1, 0.1), row_s=0.05).sure


def test_a_correction_that_comes_and_goes_is_no_lag() -> None:
    run = climb()
    pulled = run.scheduled + np.where(np.sin(run.times * 2.0) > 0.3, -6.0, 0.0)
    assert not far_lag(run.scheduled, pulled, steps=(0.1, 0.1), row_s=0.05).sure


def test_without_times_no_lag_is_claimed() -> None:
    run = climb()
    assert not far_lag(run.scheduled, run.scheduled, steps=(0.1, 0.1), row_s=0.0).sure


@pytest.mark.parametrize("period_s", [0.5, 0.8, 1.2, 1.9, 2.6])
@pytest.mark.parametrize("behind", [0.25, 0.5, 0.75])
def test_an_idle_that_hunts_evenly_tells_no_lag(period_s: float, behind: float) -> None:
    """A governor that answers a part of a period late looks like the map itself, laid over late."""
    t = np.arange(0.0, 40.0, 0.05)
    phase = 2.0 * np.pi * t / period_s
    asked = np.round(15.0 + 2.0 * np.sin(phase), 1)
    given = np.round(15.0 + 2.0 * np.sin(phase - 2.0 * np.pi * behind), 1)
    assert not far_lag(asked, given, steps=(0.1, 0.1), row_s=0.05).sure
