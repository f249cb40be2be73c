"""Axes that are reached through another parameter: RES_AXIS and CURVE_AXIS.

Source: ASAM MCD-2 MC, AXIS_RESCALE_X with its worked example, as public sources quote it; and
CURVE_AXIS (the index from 0 on that a curve gives), from memory.
"""

import struct

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.calibrations.asam.making import described
from tuneledger.calibrations.asam.a2l.store import Described
from tuneledger.calibrations.asam.parameter import NotRepresentedError, Parameter

NO = "NO_COMPU_METHOD"
PLAIN = "/begin RECORD_LAYOUT L FNC_VALUES 1 FLOAT64_IEEE ROW_DIR DIRECT /end RECORD_LAYOUT"
CURVE = """/begin RECORD_LAYOUT C NO_AXIS_PTS_X 1 ULONG AXIS_PTS_X 2 FLOAT64_IEEE INDEX_INCR DIRECT
  FNC_VALUES 3 FLOAT64_IEEE COLUMN_DIR DIRECT ALIGNMENT_FLOAT64_IEEE 1 /end RECORD_LAYOUT"""
PAIRS = """/begin RECORD_LAYOUT R NO_RESCALE_X 1 UBYTE RESERVED 2 BYTE
  AXIS_RESCALE_X 3 UBYTE 9 INDEX_INCR DIRECT /end RECORD_LAYOUT"""


def floats(*numbers: float) -> bytes:
    return struct.pack(f"<{len(numbers)}d", *numbers)


def a_curve(name: str, address: int, axis: str = f"STD_AXIS n {NO} 60 -1e9 1e9") -> str:
    return (
        f'/begin CHARACTERISTIC {name} "" CURVE {address} C 0 {NO} -1e9 1e9'
        f" /begin AXIS_DESCR {axis} /end AXIS_DESCR /end CHARACTERISTIC"
    )


def curve_bytes(points: list[float], places: list[float]) -> bytes:
    return struct.pack("<I", len(points)) + floats(*points, *places)


def over(*axes: str, kind: str = "CURVE") -> str:
    told = "".join(f" /begin AXIS_DESCR {axis} /end AXIS_DESCR" for axis in axes)
    head = f'/begin CHARACTERISTIC P "" {kind} 0x100 L 0 {NO} -1e9 1e9'
    return f"{head}{told} /end CHARACTERISTIC"


def by_curve(name: str, size: int) -> str:
    return f"CURVE_AXIS q {NO} {size} 0 {size - 1} CURVE_AXIS_REF {name}"


def by_pairs(size: int) -> str:
    return f"RES_AXIS q {NO} {size} 0 255 AXIS_PTS_REF R_N"


RESCALE = f'/begin AXIS_PTS R_N "" 0x800 q R 0 {NO} 9 0 255 /end AXIS_PTS'


def rescaled(size: int, *pairs: tuple[int, int], layout: str = PAIRS) -> Described:
    data = bytes([len(pairs), 0xEE, *(number for pair in pairs for number in pair)])
    memory = {0x100: floats(*(float(n * n) for n in range(size))), 0x800: data}
    return described(PLAIN + layout + RESCALE + over(by_pairs(size)), memory)


def points(found: Parameter, axis: int = 0) -> list[float]:
    there = found.axes[axis].points
    assert there is not None
    return there.tolist()


# --- RES_AXIS -------------------------------------------------------------------------------------


def test_the_worked_example_of_the_standard() -> None:
    """Three pairs (0, 0), (0x64, 0xC0), (0xD8, 0xFF) and nine points, 32 apart."""
    found = rescaled(9, (0, 0), (0x64, 0xC0), (0xD8, 0xFF)).get("P")
    published = [0, 16.666, 33.333, 50, 66.666, 83.333, 100, 158, 216]
    assert points(found) == pytest.approx(published, abs=1e-3)
    assert found.values.tolist() == [n * n for n in range(9)]


def test_the_published_pairs_are_themselves_the_points_of_a_table_of_seven() -> None:
    """The stored pairs of X_RE_AXIS_xS8 in the example CDF20demo of ASAM CDF 2.0.0."""
    pairs = [(10, 2), (18, 3), (33, 4), (51, 5), (52, 6), (68, 7), (85, 8)]
    assert points(rescaled(7, *pairs).get("P")) == [axis for axis, _ in pairs]


def test_a_pair_between_two_points_is_put_in_where_the_table_bends() -> None:
    """Pairs (0, 0), (10, 3), (20, 8) and three points: 4 apart, so that 10 lies between."""
    found = rescaled(3, (0, 0), (10, 3), (20, 8)).get("P")
    assert points(found) == [0, 10, 12, 20]
    assert found.values.tolist() == [0, 0.75, 1, 4]
    assert found.notes == ("P: its axis x is reached through R_N; 1 point put in where that bends",)


@pytest.mark.parametrize(
    ("found", "says"),
    [
        (rescaled(3, (0, 0), (10, 5), (5, 8)), 'pairs of "R_N" do not rise'),
        (rescaled(3, (0, 0), (10, 5), (15, 5)), 'pairs of "R_N" do not rise'),
        (rescaled(3, (7, 3)), "gives it 1 rescale pairs, the description 2 to 9"),
        (rescaled(1, (0, 0), (9, 9)), "a rescale axis of one point"),
        (
            rescaled(3, (0, 0), (9, 9), layout=PAIRS.replace("INCR", "DECR")),
            "stored in falling order",
        ),
        (rescaled(3, (0, 0), (9, 9), layout=PAIRS.replace("9 INDEX", "x INDEX")), "most rescale"),
        (
            rescaled(3, (0, 0), (9, 9), layout=PAIRS.replace("DIRECT", "PBYTE")),
            "reached by pointers",
        ),
        (rescaled(3, (0, 0), (9, 9), layout=CURVE.replace(" C ", " R ")), "no rescale pairs"),
    ],
)
def test_pairs_that_are_not_clear_are_refused_with_the_reason(found: Described, says: str) -> None:
    with pytest.raises(NotRepresentedError, match=says):
        found.get("P")


def test_the_pairs_themselves_are_listed_as_what_they_are() -> None:
    found = rescaled(3, (0, 0), (9, 9))
    lost = {entry.name: entry.lost for entry in found.entries()}
    assert lost == {
        "R_N": "it holds rescale pairs; the tables over it have their points",
        "P": None,
    }


# --- CURVE_AXIS -----------------------------------------------------------------------------------


def reached(places: list[float], at: list[float], values: list[float]) -> Described:
    text = PLAIN + CURVE + a_curve("N", 0x800)
    memory = {0x100: floats(*values), 0x800: curve_bytes(at, places)}
    return described(text + over(by_curve("N", len(values))), memory)


def test_a_curve_gives_the_place_along_the_axis_counted_from_0() -> None:
    """The curve bends at 2000 rpm between two values of the table, and passes one at 3000."""
    found = reached([0, 0.5, 1.5, 2], [1000, 2000, 4000, 6000], [10, 20, 40]).get("P")
    assert points(found) == [1000, 2000, 3000, 4000, 6000]
    assert found.values.tolist() == [10, 15, 20, 30, 40]
    assert found.axes[0].reads == "n"  # what the curve reads, not what the table says of it


def test_what_the_curve_never_reaches_is_told() -> None:
    found = reached([0.5, 1.5], [1000, 2000], [10, 20, 40]).get("P")
    assert points(found) == [1000, 1500, 2000]
    assert found.values.tolist() == [15, 20, 30]
    assert "N reaches the places 0.5 to 1.5 of 0 to 2 along x" in found.notes[1]


def test_beyond_the_last_place_the_end_value_holds() -> None:
    found = reached([-1, 4], [0, 50], [10, 20, 40]).get("P")
    assert points(found) == [0, 10, 20, 30, 50]
    assert found.values.tolist() == [10, 10, 20, 40, 40]


def test_a_curve_may_itself_be_reached_through_a_curve() -> None:
    inner = a_curve("M", 0x900, by_curve("N", 2)).replace("2304 C", "2304 L")
    text = PLAIN + CURVE + a_curve("N", 0x800) + inner + over(by_curve("M", 3))
    memory = {
        0x100: floats(10, 20, 40),
        0x800: curve_bytes([0, 100], [0, 1]),
        0x900: floats(0, 2),
    }
    found = described(text, memory).get("P")
    assert points(found) == [0, 50, 100]
    assert found.values.tolist() == [10, 20, 40]


def test_without_an_image_an_axis_that_leads_nowhere_is_listed_all_the_same() -> None:
    text = PLAIN + CURVE + a_curve("N", 0x800) + over(by_curve("P", 2))
    text += over(by_curve("Q", 2)).replace("CHARACTERISTIC P", "CHARACTERISTIC Q2")
    text += over(by_curve("N", 2)).replace("CHARACTERISTIC P", "CHARACTERISTIC GOOD")
    lost = {entry.name: entry.lost for entry in described(text).entries()}
    assert lost == {
        "N": None,
        "P": 'its axis leads back to itself by "P"',
        "Q2": 'its axis "Q" is not in the description',
        "GOOD": None,
    }


SQUARE = '/begin COMPU_METHOD S "" RAT_FUNC "%3.1" "" COEFFS 0 0 1 0 1 0 /end COMPU_METHOD'


@pytest.mark.parametrize(
    ("found", "says"),
    [
        (reached([100, 600], [0, 9], [1, 2, 3]), '"N" gives 100 to 600 as the place'),
        (reached([0, 2, 1], [0, 9, 9], [1, 2, 3]), 'points of "N" neither rise nor fall'),
        (
            described(PLAIN + CURVE + over(by_curve("N", 2)), {0x100: floats(1, 2)}),
            '"N" is not in the description',
        ),
        (
            described(PLAIN + CURVE + over(by_curve("P", 2)), {0x100: floats(1, 2)}),
            'leads back to itself by "P"',
        ),
    ],
)
def test_a_curve_that_leads_nowhere_is_refused_with_the_reason(found: Described, says: str) -> None:
    with pytest.raises(NotRepresentedError, match=says):
        found.get("P")


def test_no_points_are_put_in_where_the_curve_is_not_linear_between_its_points() -> None:
    """A conversion that divides: between two points the control unit's line is bent."""
    text = PLAIN + CURVE + SQUARE + a_curve("N", 0x800).replace(f"0 {NO} -1e9", "0 S -1e9")
    text += over(by_curve("N", 3))
    memory = {0x100: floats(1, 2, 3), 0x800: curve_bytes([10, 20], [4, 0.5])}
    with pytest.raises(NotRepresentedError, match="is not stored in proportion"):
        described(text, memory).get("P")
    memory[0x800] = curve_bytes([10, 20, 30], [1e300, 1, 0.5])  # at every place: nothing to put in
    assert points(described(text, memory).get("P")) == [10, 20, 30]


# --- against an independent reading ---------------------------------------------------------------

QUARTERS = st.integers(-4, 20).map(lambda n: n / 4)


@st.composite
def lines(draw: st.DrawFn) -> tuple[list[float], list[float]]:
    """Points that rise, and a place for each."""
    at = sorted(draw(st.sets(st.integers(-50, 50), min_size=2, max_size=6)))
    return [float(one) for one in at], [draw(QUARTERS) for _ in at]


@settings(deadline=None, max_examples=80)
@given(st.data())
def test_a_map_behind_two_curves_is_everywhere_what_both_look_ups_give(data: st.DataObject) -> None:
    """Place by `numpy.interp` of each curve, then the cell between four values by hand."""
    ways = [data.draw(lines(), label=name) for name in "xy"]
    nx, ny = data.draw(st.integers(2, 5)), data.draw(st.integers(2, 4))
    rows = [[float(data.draw(st.integers(-9, 9))) for _ in range(nx)] for _ in range(ny)]
    text = PLAIN + CURVE + a_curve("N", 0x800) + a_curve("M", 0xA00)
    text += over(by_curve("N", nx), by_curve("M", ny), kind="MAP")
    memory = {
        0x100: floats(*(cell for row in rows for cell in row)),
        0x800: curve_bytes(*ways[0]),
        0xA00: curve_bytes(*ways[1]),
    }
    if any(max(way[1]) < 0 or min(way[1]) > n - 1 for way, n in zip(ways, (nx, ny), strict=True)):
        with pytest.raises(NotRepresentedError, match="as the place along its axis"):
            described(text, memory).get("P")
        return
    found = described(text, memory).get("P")
    for _ in range(12):
        x, y = data.draw(st.floats(-60, 60)), data.draw(st.floats(-60, 60))
        assert looked_up(found, x, y) == pytest.approx(twice(ways, rows, x, y), abs=1e-7)


def looked_up(found: Parameter, x: float, y: float) -> float:
    """In the table that was made, one axis after the other."""
    along = [np.interp(x, points(found, 0), column) for column in found.values.T]
    return float(np.interp(y, points(found, 1), along))


def twice(
    ways: list[tuple[list[float], list[float]]], rows: list[list[float]], x: float, y: float
) -> float:
    """As the control unit has it: from the quantities to places, from the places to the value."""
    i, j = (float(np.interp(at, *way)) for at, way in zip((x, y), ways, strict=True))
    i, j = min(max(i, 0.0), len(rows[0]) - 1.0), min(max(j, 0.0), len(rows) - 1.0)
    left, low = int(i), int(j)
    right, high = min(left + 1, len(rows[0]) - 1), min(low + 1, len(rows) - 1)
    u, w = i - left, j - low
    return (
        rows[low][left] * (1 - u) * (1 - w)
        + rows[low][right] * u * (1 - w)
        + rows[high][left] * (1 - u) * w
        + rows[high][right] * u * w
    )
