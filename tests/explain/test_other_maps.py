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


@pytest.mark.parametrize("supplied", [True, False])
def test_what_another_map_asks_for_is_an_entry_of_its_episodes_and_the_rest_is_unaccounted(
    supplied: bool,
) -> None:
    cells = [(200.0, 5000.0), (150.0, 5000.0), (200.0, 7000.0)]
    theirs = SuppliedSheet(
        "rev-e.toml", sheet_off_by(0.0).calibration.model_copy(update={"revision": "E"})
    )
    # Scheduled jumps besides by what no map has, for a moment within the first sheet's cells.
    run = climb()
    asked = run.scheduled + np.where((run.times > 29.0) & (run.times < 29.6), 1.5, 0.0)
    sheets = [sheet_off_by(4.0, *cells), theirs] if supplied else [sheet_off_by(4.0, *cells)]
    statement = told(replace(run, scheduled=asked), *sheets)
    maps = [episode for episode in statement.episodes if episode.about == "map"]
    assert maps
    for episode in maps:
        posted = sum(entry.deg for entry in episode.entries)
        assert episode.difference_deg == pytest.approx(posted + episode.unaccounted_deg, abs=1e-6)
        assert {(e.correction, str(e.evidence), e.revision) for e in episode.entries} <= {
            ("other-map", "computed", "E") if supplied else ("other-map", "inferred", None)
        }
    most = max(maps, key=lambda episode: abs(episode.difference_deg))
    assert most.difference_deg > 1.0
    assert abs(most.unaccounted_deg) < 0.3
    if supplied:
        jump = next(e for e in maps if e.start_s < 29.3 < e.end_s)
        assert jump.unaccounted_deg * (jump.end_s - jump.start_s) == pytest.approx(0.9, abs=0.3)
