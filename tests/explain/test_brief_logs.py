"""A log that is too short to agree upon says so."""

from dataclasses import replace

import numpy as np
import pytest

from tests.explain.parts import drive
from tests.explain.told import told, told_of
from tests.runs import Run, climb, sheet


def beginning(run: Run, rows: int) -> Run:
    """The first rows of a run, as if the logger had stopped there."""
    return replace(
        run,
        times=run.times[:rows],
        signals={name: values[:rows] for name, values in run.signals.items()},
        scheduled=run.scheduled[:rows],
        regime=run.regime[:rows],
    )


@pytest.mark.parametrize("rows", [5, 30, 80])
def test_what_agrees_for_a_moment_says_nothing_of_the_car(rows: int) -> None:
    statement = told(beginning(climb(), rows))
    assert statement.verdict == "agrees"
    assert "says nothing of the car" in statement.headline
    assert any(f"only {rows} samples over" in note for note in statement.notes)


def test_few_samples_are_little_however_long_they_took() -> None:
    statement = told(beginning(climb(rate_hz=1.0), 15))
    assert "says nothing of the car" in statement.headline


def test_a_whole_run_agrees_without_a_but() -> None:
    statement = told(climb())
    assert statement.headline.startswith("Agrees: ")
    assert not any("could be compared" in note for note in statement.notes)


def test_short_logs_of_one_car_count_together() -> None:
    part = beginning(climb(), 80)
    assert told_of([part, part]).headline.startswith("Agrees: ")


def test_a_moment_does_not_make_sure_of_the_running_revision() -> None:
    running = told(beginning(climb(), 5), sheet("rev-d.toml", "D")).running
    assert running is not None
    assert running.certainty <= 0.5


def taking(run: Run, degrees: float) -> Run:
    return run.post("hidden", np.full(run.times.shape, degrees))


@pytest.mark.parametrize("degrees", [-4.0, -2.0, 3.0])
@pytest.mark.parametrize("rows", [24, 50, 90])
def test_what_acts_all_through_a_moment_is_not_sure_to_act_throughout(
    rows: int, degrees: float
) -> None:
    statement = told(taking(beginning(climb(), rows), degrees))
    assert statement.verdict == "unexplained"
    assert all(cause.certainty < 0.6 for cause in statement.causes)


@pytest.mark.parametrize(("speed_rpm", "plate_pct"), [(900.0, 0.0), (2600.0, 15.0), (5200.0, 90.0)])
def test_what_acts_at_one_speed_and_load_is_not_sure_to_act_throughout(
    speed_rpm: float, plate_pct: float
) -> None:
    t = climb().times
    run = drive(speed_rpm + 12 * np.sin(2.1 * t), plate_pct + 0 * t, 45 + 1.2 * plate_pct + 0 * t)
    statement = told(taking(run, -3.0))
    assert statement.verdict == "unexplained"
    assert all(cause.certainty < 0.6 for cause in statement.causes)


def test_what_acts_all_through_a_whole_run_is_sure_to_act_throughout() -> None:
    statement = told(taking(climb(), -3.0))
    assert statement.verdict == "explained"
    assert "acts throughout" in statement.headline
