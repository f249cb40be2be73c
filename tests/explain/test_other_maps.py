"""Another map in the car than in the sheet, without the sheet that has it."""

from dataclasses import replace

import numpy as np
import pytest

from tests.explain.told import first, kinds, told
from tests.runs import MAP, PRESSURES, SPEEDS, climb, sheet
from tuneledger.statement.model import SuppliedSheet


def sheet_off_by(degrees: float, *cells: tuple[float, float]) -> SuppliedSheet:
    """A sheet whose map has other numbers than the car's in these cells (kPa, rpm)."""
    values = np.array(MAP)
    for pressure, speed in cells:
        values[PRESSURES.index(pressure), SPEEDS.index(speed)] -= degrees
    plain = sheet("rev-d.toml", "D")
    spark = plain.calibration.spark
    table = spark.map.model_copy(update={"values": tuple(map(tuple, values.tolist()))})
    spark = spark.model_copy(update={"map": table, "correction": ()})
    return SuppliedSheet("rev-d.toml", plain.calibration.model_copy(update={"spark": spark}))


def test_a_cell_that_the_run_only_passed_through_is_another_map_all_the_same() -> None:
    brief = climb(rate_hz=100.0)
    statement = told(brief, sheet_off_by(-3.0, (100.0, 5000.0)))
    cause = first(statement)
    assert cause.kind == "other map"
    assert cause.seconds < 0.03 * 60.0
    most = max(cause.cells, key=lambda cell: abs(cell.difference_deg))
    assert most.at == (100.0, 5000.0)
    assert most.difference_deg == pytest.approx(-3.0, abs=1.0)
    assert statement.verdict == "explained"


@pytest.mark.parametrize("late_s", [0.1, 0.2, -0.1])
def test_what_the_map_reads_may_be_logged_late_without_a_map_being_blamed(late_s: float) -> None:
    run = climb(rate_hz=50.0)
    rows = round(late_s * 50.0)
    at = np.clip(np.arange(run.times.size) - rows, 0, run.times.size - 1)
    late = replace(run, signals={name: values[at] for name, values in run.signals.items()})
    statement = told(late, sheet_off_by(0.0))
    assert kinds(statement) == []
    said = f"{abs(late_s) * 1000:.0f} ms {'after' if late_s > 0 else 'before'} scheduled"
    assert any(said in note for note in statement.notes)


@pytest.mark.parametrize("cells", [[(200.0, 5000.0)], [(200.0, 5000.0), (200.0, 7000.0)]])
def test_without_scheduled_few_changed_cells_go_before_a_rule_that_says_less(
    cells: list[tuple[float, float]],
) -> None:
    statement = told(climb(), sheet_off_by(-2.5, *cells), logged=False)
    assert kinds(statement) == ["other map"]
    assert first(statement).certainty >= 0.8


def test_without_scheduled_a_switch_is_still_a_rule_and_no_map() -> None:
    run = climb()
    on = (run.times > 24.0) & (run.times < 40.0)
    run = run.carry("Wet", on * 1.0).post("wet", np.where(on, -4.0, 0.0))
    statement = told(run, sheet_off_by(0.0), logged=False)
    assert kinds(statement) == ["hidden rule"]
