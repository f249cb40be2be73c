"""Cells that a sheet leaves open ("?"): named with what the log shows there, and never sure."""

from collections.abc import Sequence
from typing import Any

import numpy as np
import pytest
from scipy.interpolate import RegularGridInterpolator

from tests.explain.parts import AIR, AT, PULL, during, pulling, with_lever, with_spark
from tests.explain.told import first, kinds, told
from tests.runs import PRESSURES, SPEEDS, Run, along, charge_air, climb, sheet
from tuneledger.explain.model import SURE
from tuneledger.statement.asking import asking
from tuneledger.statement.json import as_json
from tuneledger.statement.model import SuppliedSheet
from tuneledger.statement.text import as_text

RUN = climb()


def open_at(*values: Any) -> SuppliedSheet:
    """A sheet whose charge-air correction has these values, "?" among them."""
    return sheet("rev-d.toml", "D", [charge_air(values)])


def hot(run: Run, degrees: Sequence[float]) -> Run:
    """The run with the charge-air correction at work, with these degrees in the car."""
    return run.post("charge-air", along(run, AIR, AT, degrees))


@pytest.mark.parametrize("shown", [-1.5, -3.0, 2.0, -7.0])
def test_an_open_cell_is_named_with_the_degrees_that_the_log_shows_in_it(shown: float) -> None:
    statement = told(hot(RUN, (0.0, 0.0, shown, -6.0)), open_at(0.0, 0.0, "?", -6.0))
    cause = first(statement)
    assert (cause.kind, cause.correction) == ("correction", "charge-air")
    assert cause.certainty < SURE
    (cell,) = cause.cells
    assert cell.at == (60.0,)
    assert cell.difference_deg == pytest.approx(shown, abs=0.1)
    assert "60 °C" in cause.says
    assert len(statement.causes) == 1
    assert statement.verdict == "unexplained"


def test_what_the_car_runs_within_an_open_cell_is_no_other_numbers() -> None:
    """A curve between two known points and an open one is the sheet's own, however few rows and
    however simple a rule of one's own would be."""
    run = hot(climb(rate_hz=5.0), (0.0, -1.0, -2.5, -6.5))
    statement = told(run, open_at(0.0, -1.0, "?", -6.5))
    assert {c.kind for c in statement.causes} == {"correction"}
    assert not any("not with the numbers" in c.says for c in statement.causes)
    (open_,) = [c for c in statement.causes if c.cells]
    assert open_.cells[0].difference_deg == pytest.approx(-2.5, abs=0.2)
    assert statement.verdict == "unexplained"


def test_a_sheet_with_no_number_at_all_is_filled_in_where_the_car_drove() -> None:
    statement = told(hot(RUN, (0.0, 0.0, -3.0, -6.0)), open_at("?", "?", "?", "?"))
    (cause,) = statement.causes
    cells = {cell.at[0]: cell.difference_deg for cell in cause.cells}
    assert cells[40.0] == pytest.approx(0.0, abs=0.2)
    assert cells[60.0] == pytest.approx(-3.0, abs=0.2)


def test_what_cannot_come_from_the_open_cell_is_not_blamed_on_it() -> None:
    run = with_lever(RUN).post("x", pulling(RUN, -4.0))
    statement = told(run, open_at(0.0, 0.0, "?", -6.0))
    assert kinds(statement) == ["hidden rule"]


def test_an_open_cell_where_nothing_happened_is_no_cause() -> None:
    assert told(RUN, open_at(0.0, 0.0, "?", -6.0)).causes == ()


def test_what_acts_beside_an_open_cell_is_found_as_well() -> None:
    before = during(RUN, 9.5, 11.5)  # still cooler than 40 °C
    run = with_lever(hot(RUN, (0.0, 0.0, -3.0, -6.0)), before).post("x", np.where(before, -5.0, 0))
    statement = told(run, open_at(0.0, 0.0, "?", -6.0))
    assert {cause.kind for cause in statement.causes} == {"correction", "hidden rule"}


@pytest.mark.parametrize("effect", ["replace", "at most", "at least", "base"])
def test_open_cells_of_every_effect_are_read(effect: str) -> None:
    axes = [{"signal": "engine speed", "unit": "rpm", "at": (900.0, 4000.0, 7000.0)}]
    on = during(RUN, *PULL)
    table = np.interp(RUN.signals["engine speed"], (900, 4000, 7000), (20.0, 20.0, 12.0))
    if effect == "at least":
        table = table + 16.0
    wanted = {"at most": np.minimum, "at least": np.maximum}.get(effect, lambda a, b: b)
    delivered = wanted(RUN.scheduled, table)
    run = with_lever(RUN, on).post("x", np.where(on, np.round(delivered - RUN.scheduled, 1), 0.0))
    correction = {
        "id": "side",
        "effect": effect,
        "axes": axes,
        "values": (20.0, 20.0, "?"),
        "when": [{"channel": "Lever", "is": "on"}],
    }
    if effect == "at least":
        correction["values"] = (36.0, 36.0, "?")
    made = with_spark(sheet("rev-d.toml", "D", [correction]), limits=None)
    cause = first(told(run, made))
    assert cause.correction == "side"
    assert cause.cells[0].at == (7000.0,)
    assert cause.certainty < SURE


def test_the_open_numbers_are_asked_for_and_no_channel_is() -> None:
    statement = told(hot(RUN, (0.0, 0.0, -3.0, -6.0)), open_at(0.0, 0.0, "?", -6.0))
    assert statement.needs == ()
    assert any("charge-air" in wanted for wanted in asking(statement).files)


def test_the_cells_are_told_in_the_units_of_their_own_axis() -> None:
    statement = told(hot(RUN, (0.0, 0.0, -3.0, -6.0)), open_at(0.0, 0.0, "?", -6.0))
    assert "60 °C: −3.0°" in as_text(statement)
    assert as_json(statement)["causes"][0]["cells"][0]["at"] == [60.0]


def test_two_axes_are_told_together() -> None:
    grid = np.full((5, 5), 0.0)
    grid[4, 3], grid[4, 4] = -3.0, -3.0
    rows = np.vstack([RUN.signals["manifold absolute pressure"], RUN.signals["engine speed"]]).T
    clipped = np.clip(rows, (PRESSURES[0], SPEEDS[0]), (PRESSURES[-1], SPEEDS[-1]))
    posted = np.round(RegularGridInterpolator((PRESSURES, SPEEDS), grid)(clipped), 1)
    values = tuple(tuple("?" if x else 0.0 for x in row) for row in grid.tolist())
    axes = tuple(sheet("x", "X").calibration.spark.map.axes)
    correction = {
        "id": "boost-trim",
        "axes": [axis.model_dump(exclude_none=True) for axis in axes],
        "values": values,
    }
    cause = first(told(RUN.post("x", posted), sheet("rev-d.toml", "D", [correction])))
    assert cause.correction == "boost-trim"
    assert {cell.at for cell in cause.cells} == {(200.0, 5000.0), (200.0, 7000.0)}
    assert all(cell.difference_deg == pytest.approx(-3.0, abs=0.4) for cell in cause.cells)
