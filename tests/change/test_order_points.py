"""Where two sheets have other axis points, an order holds them against each other at the points."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.change.orders import hot, ordered
from tests.explain.parts import AT, DEG
from tests.explain.told import told
from tests.runs import charge_air, climb, sheet
from tuneledger.change.lines import lines_of
from tuneledger.change.order import Order
from tuneledger.change.places import place_words
from tuneledger.statement.model import SuppliedSheet

PLACE = "spark.correction.charge-air"


def elsewhere(at: tuple[float, ...], deg: tuple[float, ...]) -> SuppliedSheet:
    """A sheet with that correction at other points."""
    from tuneledger.calibrations.paths import put

    one = sheet("rev-c.toml", "C", [charge_air(deg)])
    calibration = put(one.calibration, f"{PLACE}.axes[0].at", list(at))
    return SuppliedSheet(one.file, calibration)


def made() -> Order:
    """The car is D; the file to edit, C, has its points 5 degrees Celsius higher."""
    other = elsewhere(tuple(x + 5.0 for x in AT), (0.0, 0.0, -1.0, -2.0))
    return ordered(
        told(hot(climb()), other, sheet("rev-d.toml", "D", [charge_air(DEG)])),
        ("spark.limits.highest", 39.0),
    )


def test_the_value_before_is_what_the_car_has_at_that_point() -> None:
    order = made()
    assert order.in_car.calibration.revision == "D"
    cells = {one.what: one.before for one in order.besides if ".values[" in one.place}
    assert cells
    for i, at in enumerate(AT):
        there = float(np.interp(at + 5.0, AT, DEG))  # NumPy's look-up, not ours
        what = f"Hot charge air (charge-air) at {at + 5.0:g} °C"
        if what in cells:
            assert cells[what] == pytest.approx(there, abs=1e-4), i


@given(
    st.lists(st.integers(-40, 150), min_size=4, max_size=4, unique=True),
    st.lists(st.integers(-20, 5), min_size=4, max_size=4),
)
def test_whatever_the_points_no_line_besides_names_a_point_with_another_value(
    at: list[int], deg: list[int]
) -> None:
    car = sheet("rev-d.toml", "D", [charge_air(DEG)]).calibration
    new = elsewhere(tuple(sorted(map(float, at))), tuple(map(float, deg))).calibration
    axis = new.spark.correction[0].axes[0].at
    for line in lines_of(car, new, new, ()).besides:
        if ".values[" in line.place:
            i = int(line.place.rpartition("[")[2].removesuffix("]"))
            assert line.before == pytest.approx(float(np.interp(axis[i], AT, DEG)), abs=1e-4)
            assert line.after == deg[i] != line.before


def test_a_cell_that_is_edited_with_its_point_is_called_by_its_number() -> None:
    """The number that stands in the file is at another point than the one that comes."""
    old = sheet("rev-d.toml", "D", [charge_air(DEG)]).calibration
    new = elsewhere(tuple(x + 5.0 for x in AT), DEG).calibration
    called = place_words(f"{PLACE}.values[2]", new, old)
    assert called == "Hot charge air (charge-air): values[2]"
    assert "°C" in place_words(f"{PLACE}.values[2]", old, old)
