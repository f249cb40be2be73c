"""A log that is too short to agree upon says so."""

from dataclasses import replace

import pytest

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
