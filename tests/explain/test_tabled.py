"""Another table that a switch brings in place of the map is told as that, and as nothing else."""

import numpy as np
import pytest
from scipy.interpolate import RegularGridInterpolator

from tests.explain.parts import AIR, AT, LEVER, hills
from tests.explain.told import first, kinds, told
from tests.runs import MAP, PRESSURES, SPEEDS, Run, along, charge_air, sheet
from tuneledger.arrays import FloatArray

TAKEN = (0.0, -1.0, -3.0, -6.0)


def on(run: Run) -> FloatArray:
    return run.extra[LEVER]


def by_speed(run: Run, low: float, high: float) -> FloatArray:
    """A table along engine speed, from 1200 to 6000 rpm."""
    return np.interp(run.signals["engine speed"], [1200, 6000], [low, high])


def replaced(run: Run, table: FloatArray) -> Run:
    return run.post("table", np.where(on(run) > 0, table - run.scheduled, 0.0))


@pytest.mark.parametrize(("low", "high"), [(8.0, 22.0), (26.0, 12.0), (10.0, 15.0)])
def test_a_table_along_engine_speed_is_read_out(low: float, high: float) -> None:
    run = hills()
    statement = told(replaced(run, by_speed(run, low, high)))
    (cause,) = statement.causes
    assert cause.kind == "replacement"
    assert cause.says.startswith("Another table in place of the map")
    assert "as Rev goes from" in cause.says
    assert f"while {LEVER} is 1" in cause.says
    assert cause.raises_under_load or "the sheet that holds it" in cause.next_step
    assert statement.verdict == "explained"
    assert cause.seconds == pytest.approx(0.05 * on(run).sum(), rel=0.1)


def test_what_a_sheet_lists_goes_on_beside_it() -> None:
    run = hills()
    run = replaced(run, by_speed(run, 8.0, 22.0)).post("charge-air", along(run, AIR, AT, TAKEN))
    statement = told(run, sheet("rev-d.toml", "D", [charge_air(TAKEN)]))
    assert set(kinds(statement)) == {"replacement", "correction"}
    assert statement.verdict == "explained"


def test_a_table_over_two_axes_is_no_fixed_advance_that_it_passes_through() -> None:
    run = hills()
    values = np.array([[11.8, 11.8, 11.9, 17.0, 22.0]] * 2 + [[9.0, 10.5, 11.8, 11.8, 11.8]] * 3)
    points = [run.signals["manifold absolute pressure"], run.signals["engine speed"]]
    table = RegularGridInterpolator((PRESSURES, SPEEDS), values)(np.column_stack(points))
    statement = told(replaced(run, np.round(table, 1)))
    assert not any("advance of 11.8°" in cause.says for cause in statement.causes)


@pytest.mark.parametrize("share", [0.65, 0.8])
def test_a_whole_map_is_told_as_a_table_over_two_axes_but_not_read_out(share: float) -> None:
    """Another fuel's map: less by so much, and now more and now less besides."""
    run = hills()
    values = share * np.array(MAP) + np.random.default_rng(1).uniform(-3.0, 3.0, (5, 5))
    points = [run.signals["manifold absolute pressure"], run.signals["engine speed"]]
    table = RegularGridInterpolator((PRESSURES, SPEEDS), values)(np.column_stack(points))
    statement = told(replaced(run, np.round(table, 1)))
    cause = first(statement)
    assert cause.kind == "replacement"
    assert cause.says.startswith("Another table over ")
    assert "engine speed" in cause.says
    assert f"while {LEVER} is 1" in cause.says
    assert cause.seconds == pytest.approx(0.05 * on(run).sum(), rel=0.2)
    assert cause.certainty < 0.8
    assert statement.verdict == "unexplained"
    assert not any(other.kind == "hidden rule" for other in statement.causes)


@pytest.mark.parametrize("degrees", [-3.0, -7.0])
def test_an_amount_while_the_lever_is_on_stays_an_amount(degrees: float) -> None:
    run = hills()
    statement = told(run.post("x", np.where(on(run) > 0, degrees, 0.0)))
    assert kinds(statement) == ["hidden rule"]
    assert first(statement).rule is not None
    assert first(statement).rule.amount_deg == pytest.approx(degrees)


def test_one_number_while_the_lever_is_on_stays_a_fixed_advance() -> None:
    run = hills()
    statement = told(replaced(run, np.full(run.times.shape, 12.0)))
    assert "a fixed advance of 12.0°" in first(statement).says.lower()
