"""What is sampled more seldom than the log has rows: between two samples it is not known."""

from dataclasses import replace

import numpy as np
import pytest

from tests.explain.told import first, told
from tests.runs import Run, climb, sheet
from tuneledger.arrays import FloatArray
from tuneledger.calibrations.model import Comparison
from tuneledger.explain.grain import Grain
from tuneledger.explain.seldom import crossed, spans
from tuneledger.statement.model import SuppliedSheet

RATE_HZ = 40.0
WAYS = pytest.mark.parametrize("way", ["held", "joined", "empty"])
AIR, PRESSURE = "intake air temperature", "manifold absolute pressure"


def seldom(values: FloatArray, times: FloatArray, hz: float, step: float, way: str) -> FloatArray:
    """A channel as a log of more rows has it that is sampled so many times a second."""
    every = round(1.0 / (hz * (times[1] - times[0])))
    rows = np.arange(values.size)
    own = np.round(values[::every] / step) * step
    if way == "held":
        return own[rows // every]
    if way == "joined":
        return np.round(np.interp(rows, rows[::every], own), 3)
    cells = np.full(values.size, np.nan)
    cells[::every] = own
    return cells


def drive() -> Run:
    """The climb, with an air temperature that swings about 45 °C once every ten seconds."""
    run = climb(rate_hz=RATE_HZ)
    t = run.times
    air = 45.0 + 8.0 * np.sin(0.6 * t) + 0.3 * np.sin(7.0 * t)
    return replace(run, signals={**run.signals, AIR: air})


def logged(run: Run, **columns: FloatArray) -> Run:
    named = {name.replace("_", " "): values for name, values in columns.items()}
    return replace(run, signals={**run.signals, **named})


def guard(revision: str, above: float) -> SuppliedSheet:
    """Four degrees taken above an air temperature."""
    when = [{"signal": AIR, "unit": "degC", "above": above}]
    return sheet(
        f"rev-{revision}.toml".lower(), revision, [{"id": "hot", "amount": -4.0, "when": when}]
    )


@WAYS
@pytest.mark.parametrize("step", [0.1, 0.5])
@pytest.mark.parametrize("runs", ["D", "E"])
def test_the_moment_at_which_a_slow_temperature_passed_a_threshold_refutes_no_revision(
    way: str, step: float, runs: str
) -> None:
    run = drive()
    at = {"D": 45.0, "E": 48.0}
    posted = run.post("hot", np.where(run.signals[AIR] > at[runs], -4.0, 0.0))
    slow = logged(
        posted, intake_air_temperature=seldom(run.signals[AIR], run.times, 2.0, step, way)
    )
    statement = told(slow, guard("E", at["E"]), guard("D", at["D"]))
    assert statement.running is not None
    assert statement.running.best == runs
    assert {cause.correction for cause in statement.causes} == {"hot"}


@WAYS
def test_a_correction_that_comes_a_second_late_is_still_refuted(way: str) -> None:
    run = drive()
    rows = round(1.5 * RATE_HZ)
    late = np.roll(run.signals[AIR] > 45.0, rows)
    posted = run.post("hot", np.where(late, -4.0, 0.0))
    slow = logged(posted, intake_air_temperature=seldom(run.signals[AIR], run.times, 2.0, 0.1, way))
    statement = told(slow, guard("D", 45.0))
    assert statement.running is None or not statement.running.matches_supplied


@WAYS
@pytest.mark.parametrize("hz", [5.0, 10.0])
def test_what_a_slow_pressure_did_between_two_samples_is_no_difference(way: str, hz: float) -> None:
    run = drive()
    slow = logged(
        run, manifold_absolute_pressure=seldom(run.signals[PRESSURE], run.times, hz, 0.5, way)
    )
    statement = told(slow, sheet("rev-d.toml", "D"), logged=False)
    assert statement.verdict == "agrees"


@WAYS
def test_a_loss_is_seen_although_the_pressure_is_slow(way: str) -> None:
    run = drive()
    lost = np.where((run.times > 13.0) & (run.times < 13.5), -5.0, 0.0)
    slow = logged(
        run.post("x", lost),
        manifold_absolute_pressure=seldom(run.signals[PRESSURE], run.times, 5.0, 0.5, way),
    )
    statement = told(slow, sheet("rev-d.toml", "D"), logged=False)
    assert [round(one.start_s) for one in statement.episodes] == [13]
    assert statement.episodes[0].difference_deg == pytest.approx(-5.0, abs=0.5)
    assert first(statement).certainty < 0.8


class _Columns:
    """Inputs of one channel."""

    def __init__(self, values: FloatArray) -> None:
        self.times, self._values = np.arange(values.size) * 0.1, values

    def signal(self, name: str, unit: str | None) -> FloatArray | None:
        return None

    def channel(self, name: str, unit: str | None) -> FloatArray | None:
        return self._values


def compared(**condition: object) -> Comparison:
    return Comparison.model_validate({"channel": "x", **condition})


def test_between_two_samples_a_number_lies_between_them() -> None:
    own = np.array([1.0, 4.0, 2.0, 2.0, 5.0, 7.0, 3.0, 9.0, 8.0, 1.0, 6.0, 2.0])
    grain = Grain(_Columns(np.repeat(own, 5)))
    ends = spans(compared(above=3.5), grain)
    assert ends is not None
    assert [end[7] for end in ends] == [2.0, 4.0]
    assert [end[5] for end in ends] == [4.0, 4.0]
    assert crossed(compared(above=3.5), grain, (3.5,))
    assert not crossed(compared(above=9.5), grain, (9.5,))


def test_a_number_with_a_sample_in_every_row_passes_between_none() -> None:
    values = np.round(20.0 + np.cumsum(np.random.default_rng(3).normal(size=400)), 1)
    assert spans(compared(above=20.0), Grain(_Columns(values))) is None
