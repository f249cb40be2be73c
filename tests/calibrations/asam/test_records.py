"""Records in memory, their bytes written by hand with `struct` from what the standard says.

Source: ASAM MCD-2 MC 1.6/1.7, RECORD_LAYOUT, AXIS_DESCR and BYTE_ORDER.
"""

import struct

import pytest

from tests.calibrations.asam.making import described, motorola
from tuneledger.calibrations.asam.a2l.store import Described
from tuneledger.calibrations.asam.images import read_image
from tuneledger.calibrations.asam.parameter import NotRepresentedError, Parameter

NO = "NO_COMPU_METHOD"
NUMBERS = {
    "UBYTE": ("B", 200),
    "SBYTE": ("b", -100),
    "UWORD": ("H", 40000),
    "SWORD": ("h", -30000),
    "ULONG": ("I", 3_000_000_000),
    "SLONG": ("i", -2_000_000_000),
    "A_UINT64": ("Q", 2**52 + 1),
    "A_INT64": ("q", -(2**52) - 1),
    "FLOAT16_IEEE": ("e", -2.5),
    "FLOAT32_IEEE": ("f", 0.1),
    "FLOAT64_IEEE": ("d", 1 / 3),
}


def layout(parts: str, name: str = "L") -> str:
    return f"/begin RECORD_LAYOUT {name} {parts} /end RECORD_LAYOUT"


def order(word: str) -> str:
    return f'/begin MOD_COMMON "" BYTE_ORDER {word} /end MOD_COMMON'


def one(inside: str, data: bytes, common: str = order("MSB_FIRST"), at: int = 0x100) -> Parameter:
    return described(inside, {at: data}, common).get("P")


@pytest.mark.parametrize("number", NUMBERS)
@pytest.mark.parametrize(("word", "mark"), [("MSB_FIRST", ">"), ("MSB_LAST", "<")])
def test_every_kind_of_number_in_both_orders_of_bytes(number: str, word: str, mark: str) -> None:
    code, value = NUMBERS[number]
    text = layout(f"FNC_VALUES 1 {number} COLUMN_DIR DIRECT")
    text += f'/begin CHARACTERISTIC P "" VALUE 0x100 L 0 {NO} -1e300 1e300 /end CHARACTERISTIC'
    assert float(one(text, struct.pack(mark + code, value), order(word)).values) == value


def test_a_parameters_own_order_goes_before_the_modules() -> None:
    text = layout("FNC_VALUES 1 UWORD COLUMN_DIR DIRECT")
    text += f'/begin CHARACTERISTIC P "" VALUE 0x100 L 0 {NO} 0 65535 BYTE_ORDER MSB_LAST'
    assert float(one(text + " /end CHARACTERISTIC", b"\x02\x01").values) == 0x0102


@pytest.mark.parametrize("common", ['/begin MOD_COMMON "" /end MOD_COMMON', order("BIG_ENDIAN")])
def test_an_order_of_bytes_that_is_not_clear_is_asked_for(common: str) -> None:
    """BIG_ENDIAN and LITTLE_ENDIAN have been used for either order."""
    text = layout("FNC_VALUES 1 UWORD COLUMN_DIR DIRECT")
    text += f'/begin CHARACTERISTIC P "" VALUE 0x100 L 0 {NO} 0 65535 /end CHARACTERISTIC'
    found = described(text, {0x100: b"\x01\x02"}, common)
    with pytest.raises(NotRepresentedError, match="say --byte-order"):
        found.get("P")
    assert float(Described(found.description, found.image, "MSB_FIRST").get("P").values) == 258


MAP = (
    '/begin CHARACTERISTIC P "" MAP 0x100 L 0 NO_COMPU_METHOD -1e9 1e9'
    " /begin AXIS_DESCR STD_AXIS nEngine NO_COMPU_METHOD 5 0 1e9 /end AXIS_DESCR"
    " /begin AXIS_DESCR STD_AXIS pLoad NO_COMPU_METHOD 4 0 1e9 /end AXIS_DESCR"
    " /end CHARACTERISTIC"
)


@pytest.mark.parametrize(
    ("direction", "values"),
    [("ROW_DIR", [11, 12, 13, 21, 22, 23]), ("COLUMN_DIR", [11, 21, 12, 22, 13, 23])],
)
def test_a_map_with_counted_axes_and_gaps_for_alignment(direction: str, values: list[int]) -> None:
    """Value yx: 3 speeds along x, 2 loads along y. A byte of padding before each word."""
    text = MAP + layout(
        "NO_AXIS_PTS_X 1 UBYTE NO_AXIS_PTS_Y 2 UBYTE RESERVED 3 BYTE "
        "AXIS_PTS_X 4 UWORD INDEX_INCR DIRECT "
        f"AXIS_PTS_Y 5 UBYTE INDEX_INCR DIRECT FNC_VALUES 6 SWORD {direction} DIRECT"
    )
    data = struct.pack(">BBBxHHHBB6h", 3, 2, 0xEE, 1000, 2000, 3000, 40, 80, *values)
    found = one(text, data)
    assert found.values.tolist() == [[11, 21], [12, 22], [13, 23]]
    assert [axis.points.tolist() for axis in found.axes if axis.points is not None] == [
        [1000, 2000, 3000],
        [40, 80],
    ]
    assert [axis.reads for axis in found.axes] == ["nEngine", "pLoad"]


def test_alignment_is_what_the_layout_says_before_what_the_module_says() -> None:
    text = MAP + layout(
        "ALIGNMENT_WORD 1 NO_AXIS_PTS_X 1 UBYTE AXIS_PTS_X 2 UWORD INDEX_INCR DIRECT "
        "FIX_NO_AXIS_PTS_Y 1 AXIS_PTS_Y 3 UWORD INDEX_INCR DIRECT FNC_VALUES 4 UBYTE ROW_DIR DIRECT"
    )
    data = struct.pack(">BHHHBB", 2, 10, 20, 5, 7, 8)
    assert one(text, data).values.tolist() == [[7], [8]]


def test_a_record_at_an_address_that_its_alignment_does_not_allow_is_not_guessed() -> None:
    text = MAP.replace("0x100", "0x101") + layout(
        "NO_AXIS_PTS_X 1 UBYTE NO_AXIS_PTS_Y 2 UBYTE AXIS_PTS_X 3 UWORD INDEX_INCR DIRECT "
        "AXIS_PTS_Y 4 UWORD INDEX_INCR DIRECT FNC_VALUES 5 UBYTE ROW_DIR DIRECT"
    )
    with pytest.raises(NotRepresentedError, match="the places of its parts are not clear"):
        one(text, bytes([1, 1, *range(60)]), at=0x101)


def curve(axis: str, parts: str, extra: str = "") -> str:
    return layout(parts) + (
        f'/begin CHARACTERISTIC P "" CURVE 0x100 L 0 {NO} 0 255 {extra}'
        f" /begin AXIS_DESCR {axis} /end AXIS_DESCR /end CHARACTERISTIC"
    )


PLAIN = "FNC_VALUES 1 UBYTE COLUMN_DIR DIRECT"


@pytest.mark.parametrize(
    ("told", "points"),
    [
        ("FIX_AXIS_PAR 10 2 3", [10, 14, 18]),  # 10 + i · 2²
        ("FIX_AXIS_PAR_DIST 10 25 3", [10, 35, 60]),
        ("/begin FIX_AXIS_PAR_LIST 1 4 9 /end FIX_AXIS_PAR_LIST", [1, 4, 9]),
    ],
)
def test_the_points_of_fixed_axes(told: str, points: list[float]) -> None:
    found = one(curve(f"FIX_AXIS q {NO} 3 0 100 {told}", PLAIN), bytes([5, 6, 7]))
    assert found.axes[0].points is not None
    assert found.axes[0].points.tolist() == points
    assert found.values.tolist() == [5, 6, 7]


@pytest.mark.parametrize(
    ("step", "stored", "points"), [("DIST_OP_X", 20, [5, 25, 45]), ("SHIFT_OP_X", 3, [5, 13, 21])]
)
def test_a_fixed_axis_whose_offset_and_step_stand_in_the_record(
    step: str, stored: int, points: list[float]
) -> None:
    parts = f"OFFSET_X 1 UBYTE {step} 2 UBYTE FNC_VALUES 3 UBYTE COLUMN_DIR DIRECT"
    found = one(curve(f"FIX_AXIS q {NO} 3 0 100", parts), bytes([5, stored, 1, 2, 3]))
    assert found.axes[0].points is not None
    assert found.axes[0].points.tolist() == points


def test_some_bits_of_a_number() -> None:
    text = layout(PLAIN)
    text += f'/begin CHARACTERISTIC P "" VALUE 0x100 L 0 {NO} 0 15 BIT_MASK 0x3C'
    assert float(one(text + " /end CHARACTERISTIC", bytes([0b11010111])).values) == 0b0101


def form(formula: str) -> str:
    text = f'/begin COMPU_METHOD C "" FORM "%3.1" "deg" {formula} /end COMPU_METHOD'
    value = '/begin CHARACTERISTIC P "" VALUE 0x100 L 0 C -99 99 /end CHARACTERISTIC'
    return layout(PLAIN) + text + value


def test_a_formula_gives_the_physical_number_of_the_stored_one() -> None:
    """FORM: unlike RAT_FUNC, whose coefficients go from the physical number to the stored one."""
    inverse = 'FORMULA_INV "(X1+40)*4"'
    text = form(f'/begin FORMULA "X1/4 - 40" {inverse} /end FORMULA')
    assert float(one(text, bytes([170])).values) == 2.5


@pytest.mark.parametrize(
    ("inside", "data", "says"),
    [
        (form('/begin FORMULA "X1 ^ 2" /end FORMULA'), b"\1", '"X1 . 2": .*not understood'),
        (form('/begin FORMULA "X1 + X2" /end FORMULA'), b"\1", "'X2' is not understood"),
        (form('/begin FORMULA "1/X1" /end FORMULA'), b"\0", "not finite"),
        (form(""), b"\1", "it ends too early"),
        (curve(f"STD_AXIS q {NO} 3 0 9", PLAIN), b"\1\2\3", "no points for its axis x"),
        (curve(f"RES_AXIS q {NO} 3 0 9", PLAIN), b"\1", "names no AXIS_PTS"),
        (curve(f"CURVE_AXIS q {NO} 3 0 9", PLAIN), b"\1", "names no curve"),
        (curve(f"COM_AXIS q {NO} 3 0 9 AXIS_PTS_REF NO", PLAIN), b"\1", '"NO" is not in the desc'),
        (
            curve(f"FIX_AXIS q {NO} 3 0 9 FIX_AXIS_PAR 0 0 5", PLAIN),
            b"\1",
            "5 points and may have 3",
        ),
        (
            curve(f"STD_AXIS q {NO} 3 0 9 DEPOSIT DIFFERENCE", PLAIN),
            b"\1",
            "stored as differences",
        ),
        (
            curve(
                f"STD_AXIS q {NO} 3 0 9",
                "NO_AXIS_PTS_X 1 UBYTE AXIS_PTS_X 2 UBYTE INDEX_INCR DIRECT "
                "FNC_VALUES 3 UBYTE COLUMN_DIR DIRECT",
            ),
            b"\xff\xff\xff",
            "the image gives it 255 points along x, the description 1 to 3",
        ),
        (
            curve(
                f"STD_AXIS q {NO} 3 0 9",
                "AXIS_PTS_X 1 UBYTE INDEX_INCR DIRECT FNC_VALUES 1 UBYTE ALTERNATE_WITH_X DIRECT",
            ),
            b"\1",
            "alternate with axis points",
        ),
        (
            curve(
                f"FIX_AXIS q {NO} 2 0 9 FIX_AXIS_PAR 0 0 2", "FNC_VALUES 1 UBYTE COLUMN_DIR PWORD"
            ),
            b"\1",
            "reached by pointers",
        ),
        (
            layout("FNC_VALUES 1 FLOAT32_IEEE COLUMN_DIR DIRECT")
            + f'/begin CHARACTERISTIC P "" VALUE 0x100 L 0 {NO} 0 1 /end CHARACTERISTIC',
            b"\xff\xff\xff\xff",
            "1 number of it is not finite",
        ),
        (
            layout(PLAIN) + f'/begin CHARACTERISTIC P "" VALUE 0x100 L 0 {NO} 0 1'
            ' /begin VIRTUAL_CHARACTERISTIC "X1" A /end VIRTUAL_CHARACTERISTIC /end CHARACTERISTIC',
            b"\1",
            "virtual",
        ),
        (
            layout(PLAIN) + f'/begin CHARACTERISTIC P "" CUBE_4 0x100 L 0 {NO} 0 1'
            " /end CHARACTERISTIC",
            b"\1",
            r"it has 4 axes \(CUBE_4\); a table of a sheet has at most 3",
        ),
        (
            f'/begin CHARACTERISTIC P "" VALUE 0x100 GONE 0 {NO} 0 1 /end CHARACTERISTIC',
            b"\1",
            'its record layout "GONE" is not in the description',
        ),
        (
            f'/begin CHARACTERISTIC P "" VALUE here L 0 {NO} 0 1 /end CHARACTERISTIC',
            b"\1",
            '"here" stands in its CHARACTERISTIC .*, expected its address, a whole number',
        ),
    ],
)
def test_what_is_not_represented_is_said_with_the_reason(
    inside: str, data: bytes, says: str
) -> None:
    found = described(inside, {0x100: data}, order("MSB_FIRST"))
    with pytest.raises(NotRepresentedError, match=says):
        found.get("P")
    entry = next(found.entries())
    assert entry.name == "P"
    assert entry.lost is not None  # listed with the reason, not left out


def test_numbers_beyond_the_limits_raise_the_question_of_the_image() -> None:
    text = layout(PLAIN)
    text += f'/begin CHARACTERISTIC P "" VALUE 0x100 L 0 {NO} 0 50 EXTENDED_LIMITS 0 60'
    found = one(text + " /end CHARACTERISTIC", bytes([55]))
    assert found.notes == ()
    found = one(text + " /end CHARACTERISTIC", bytes([200]))
    assert "1 of 1 numbers lie outside the limits" in found.notes[0]


def test_both_forms_of_an_image_give_the_same() -> None:
    memory = {0x100: bytes([5, 6, 7])}
    found = described(curve(f"FIX_AXIS q {NO} 3 0 100 FIX_AXIS_PAR 10 2 3", PLAIN), memory)
    other = Described(found.description, read_image(motorola(memory), "kestrel.s19"))
    assert other.get("P").values.tolist() == found.get("P").values.tolist()
