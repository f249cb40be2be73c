"""Any order of parts, any numbers, any alignment: what a writer by hand put down is read again.

The writer below knows `struct` and the rule that a number goes to the next address that its
alignment divides; it shares nothing with the reader.
"""

import struct
from dataclasses import dataclass

from hypothesis import given, settings
from hypothesis import strategies as st

from tests.calibrations.asam.making import described

CODES = {
    **{"UBYTE": "B", "SBYTE": "b", "UWORD": "H", "SWORD": "h", "ULONG": "I", "SLONG": "i"},
    **{"A_UINT64": "Q", "A_INT64": "q", "FLOAT32_IEEE": "f", "FLOAT64_IEEE": "d"},
}
GROUPS = {
    **dict.fromkeys(("UBYTE", "SBYTE"), "BYTE"),
    **dict.fromkeys(("UWORD", "SWORD"), "WORD"),
    **dict.fromkeys(("ULONG", "SLONG"), "LONG"),
    **dict.fromkeys(("A_UINT64", "A_INT64"), "INT64"),
    **{"FLOAT32_IEEE": "FLOAT32_IEEE", "FLOAT64_IEEE": "FLOAT64_IEEE"},
}
KINDS = st.sampled_from(list(CODES))
WHOLE = st.sampled_from(["UBYTE", "UWORD", "ULONG"])
ADDRESS = 0x4000  # every alignment below divides it


@dataclass(frozen=True)
class Made:
    """A map by hand: its layout and its bytes, and what should come of them."""

    layout: str
    data: bytes
    x: list[int]
    y: list[int]
    rows: list[list[int]]  # one for each y


@st.composite
def maps(draw: st.DrawFn) -> Made:
    order = draw(st.sampled_from("<>"))
    nx, ny = draw(st.integers(1, 6)), draw(st.integers(1, 5))
    x, y = [10 * n + 1 for n in range(nx)], [7 * n + 2 for n in range(ny)]
    rows = [[draw(st.integers(0, 100)) for _ in x] for _ in y]
    direction = draw(st.sampled_from(["ROW_DIR", "COLUMN_DIR"]))
    cells = [c for row in rows for c in row]
    if direction == "COLUMN_DIR":
        cells = [rows[j][i] for i in range(nx) for j in range(ny)]
    counts = draw(st.permutations([("NO_AXIS_PTS_X", [nx]), ("NO_AXIS_PTS_Y", [ny])]))
    rest = [("AXIS_PTS_X", x), ("AXIS_PTS_Y", y), ("FNC_VALUES", cells), ("RESERVED", [99])]
    parts = [*counts, *draw(st.permutations(rest))]
    told, data = [], b""
    steps = {group: draw(st.sampled_from([1, 2, 4, 8])) for group in sorted(set(GROUPS.values()))}
    for position, (what, numbers) in enumerate(parts, 1):
        kind = draw(WHOLE if what.startswith("NO_") or what == "RESERVED" else KINDS)
        tail = {"FNC_VALUES": f" {direction} DIRECT"}.get(what, "")
        tail = " INDEX_INCR DIRECT" if what.startswith("AXIS") else tail
        named = {"UBYTE": "BYTE", "UWORD": "WORD", "ULONG": "LONG"}.get(kind, kind)
        told.append(f"{what} {position} {named if what == 'RESERVED' else kind}{tail}")
        while position > 1 and len(data) % steps[GROUPS[kind]]:
            data += b"\xee"
        data += struct.pack(f"{order}{len(numbers)}{CODES[kind]}", *numbers)
    aligned = " ".join(f"ALIGNMENT_{group} {step}" for group, step in steps.items())
    mark = "MSB_FIRST" if order == ">" else "MSB_LAST"
    shuffled = " ".join(draw(st.permutations(told)))
    return Made(f"{mark}|{aligned} {shuffled}", data, x, y, rows)


@settings(deadline=None, max_examples=150)
@given(maps())
def test_a_map_of_any_layout_is_read_as_it_was_written(made: Made) -> None:
    mark, _, parts = made.layout.partition("|")
    inside = (
        f"/begin RECORD_LAYOUT L {parts} /end RECORD_LAYOUT"
        f' /begin CHARACTERISTIC P "" MAP {ADDRESS} L 0 NO_COMPU_METHOD 0 100'
        " /begin AXIS_DESCR STD_AXIS n NO_COMPU_METHOD 8 0 99 /end AXIS_DESCR"
        " /begin AXIS_DESCR STD_AXIS p NO_COMPU_METHOD 8 0 99 /end AXIS_DESCR"
        " /end CHARACTERISTIC"
    )
    common = f'/begin MOD_COMMON "" BYTE_ORDER {mark} /end MOD_COMMON'
    found = described(inside, {ADDRESS: made.data}, common).get("P")
    points = [axis.points.tolist() for axis in found.axes if axis.points is not None]
    assert points == [made.x, made.y]
    assert found.values.T.tolist() == made.rows
