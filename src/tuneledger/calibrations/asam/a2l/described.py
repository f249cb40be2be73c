"""What a description says of one parameter: CHARACTERISTIC, AXIS_PTS and AXIS_DESCR."""

from collections.abc import Mapping

from tuneledger.calibrations.asam.a2l.blocks import Block
from tuneledger.calibrations.asam.a2l.fields import Fields, as_number, as_whole
from tuneledger.calibrations.asam.parameter import AXES, Kind, NotRepresentedError
from tuneledger.calibrations.tree import quoted
from tuneledger.record import record

KINDS: dict[str, Kind] = {
    "VALUE": "value",
    "CURVE": "curve",
    "MAP": "map",
    "CUBOID": "cuboid",
    "VAL_BLK": "block",
    "ASCII": "text",
}
_POINTS = 1 << 16
_DIMENSIONS: dict[Kind, int] = {"curve": 1, "map": 2, "cuboid": 3}
_TOO_MANY = {"CUBE_4": 4, "CUBE_5": 5}
_NAMED_BY = {  # where the points of an axis stand that has none of its own
    "COM_AXIS": ("AXIS_PTS_REF", "its common axis names no AXIS_PTS"),
    "RES_AXIS": ("AXIS_PTS_REF", "its rescale axis names no AXIS_PTS"),
    "CURVE_AXIS": ("CURVE_AXIS_REF", "its axis names no curve (CURVE_AXIS_REF)"),
}
Told = Mapping[str, list[str]]


@record
class AxisSaid:
    """One axis as described.

    kind:   STD_AXIS, COM_AXIS, FIX_AXIS, RES_AXIS or CURVE_AXIS
    most:   the most points that it can have
    points: of a fixed axis, raw, where the description gives them
    common: the AXIS_PTS of a common or rescale axis, the curve of a CURVE_AXIS
    """

    kind: str
    reads: str
    method: str
    most: int
    limits: tuple[float, float]
    unit: str | None
    order: str | None
    points: tuple[float, ...] | None = None
    common: str = ""


@record
class Said:
    """A parameter as described; of an AXIS_PTS, `axes` holds the one axis that it is.

    limits: those that its values must keep; the extended ones where they are told
    shape:  of a block of values
    mask:   the bits of the stored number that count, None for all
    """

    name: str
    kind: Kind
    says: str
    address: int
    layout: str
    method: str
    limits: tuple[float, float]
    unit: str | None
    order: str | None
    axes: tuple[AxisSaid, ...] = ()
    shape: tuple[int, ...] = ()
    mask: int | None = None


def characteristic(block: Block) -> Said:
    """A CHARACTERISTIC. NotRepresentedError with what no sheet can hold."""
    fields = Fields(block)
    name, says = fields.word("its name"), fields.text("its long identifier")
    kind = fields.word("its kind")
    address, layout = fields.whole("its address"), fields.word("its record layout")
    fields.number("its largest difference")
    method = fields.word("its conversion")
    limits = (fields.number("its lower limit"), fields.number("its upper limit"))
    told = fields.keywords()
    if kind in _TOO_MANY:
        raise NotRepresentedError(
            f"it has {_TOO_MANY[kind]} axes ({kind}); a table of a sheet has at most {len(AXES)}"
        )
    if kind not in KINDS:
        raise NotRepresentedError(
            f"it is a {quoted(kind)}; values, curves, maps, cuboids, blocks and texts are read"
        )
    if next(block.inside("VIRTUAL_CHARACTERISTIC"), None):
        raise NotRepresentedError("it is virtual: it stands in no memory")
    _same_memory(told)
    axes = tuple(_axis(inside) for inside in block.inside("AXIS_DESCR"))
    wanted = _DIMENSIONS.get(KINDS[kind], 0)
    if len(axes) != wanted:
        raise NotRepresentedError(f"it is a {kind} and has {len(axes)} axes")
    return Said(
        name,
        KINDS[kind],
        says,
        address,
        layout,
        method,
        _limits(told, limits),
        _first(told, "PHYS_UNIT"),
        _first(told, "BYTE_ORDER"),
        axes,
        _shape(told, KINDS[kind]),
        _mask(told),
    )


def axis_points(block: Block) -> Said:
    """An AXIS_PTS, the points of an axis that several parameters share."""
    fields = Fields(block)
    name, says = fields.word("its name"), fields.text("its long identifier")
    address, reads = fields.whole("its address"), fields.word("its input")
    layout = fields.word("its record layout")
    fields.number("its largest difference")
    method, most = fields.word("its conversion"), fields.whole("its number of points", _POINTS)
    limits = (fields.number("its lower limit"), fields.number("its upper limit"))
    told = fields.keywords()
    _same_memory(told)
    _absolute(told)
    limits, unit, order = (
        _limits(told, limits),
        _first(told, "PHYS_UNIT"),
        _first(told, "BYTE_ORDER"),
    )
    axis = AxisSaid("AXIS_PTS", _reads(reads), method, most, limits, unit, order)
    return Said(name, "axis", says, address, layout, method, limits, unit, order, (axis,))


def _axis(block: Block) -> AxisSaid:
    fields = Fields(block)
    kind, reads = fields.word("its kind"), fields.word("its input")
    method, most = fields.word("its conversion"), fields.whole("its number of points", _POINTS)
    limits = (fields.number("its lower limit"), fields.number("its upper limit"))
    told = fields.keywords()
    if kind not in ("STD_AXIS", "FIX_AXIS", *_NAMED_BY):
        raise NotRepresentedError(f"its axis is a {quoted(kind)}")
    if most < 1:
        raise NotRepresentedError(f"its axis may have {most} points")
    _absolute(told)
    key, missing = _NAMED_BY.get(kind, ("", ""))
    common = _first(told, key) or ""
    if missing and not common:
        raise NotRepresentedError(missing)
    points = _fixed(block, told) if kind == "FIX_AXIS" else None
    if points is not None and len(points) > most:
        raise NotRepresentedError(f"its fixed axis has {len(points)} points and may have {most}")
    limits = _limits(told, limits)
    unit, order = _first(told, "PHYS_UNIT"), _first(told, "BYTE_ORDER")
    return AxisSaid(kind, _reads(reads), method, most, limits, unit, order, points, common)


def _fixed(block: Block, told: Told) -> tuple[float, ...] | None:
    """The raw points of a fixed axis; None where they stand in the record."""
    if "FIX_AXIS_PAR" in told:
        offset, shift, count = _three(told["FIX_AXIS_PAR"])
        if not 0 <= shift <= 32:
            raise NotRepresentedError(f"its fixed axis is shifted by {shift} bits")
        return fixed_points(offset, 2.0**shift, count)
    if "FIX_AXIS_PAR_DIST" in told:
        offset, distance, count = _three(told["FIX_AXIS_PAR_DIST"])
        return fixed_points(offset, distance, count)
    listed = next(block.inside("FIX_AXIS_PAR_LIST"), None)
    if listed is None:
        return None
    numbers = [as_number(item) for item in listed.items if isinstance(item, str)]
    found = tuple(number for number in numbers if number is not None)
    if not found or len(found) < len(numbers):
        raise NotRepresentedError("its fixed axis lists something that is no number")
    return found


def fixed_points(offset: float, step: float, count: float) -> tuple[float, ...]:
    """Points at equal steps. NotRepresentedError where there cannot be so many."""
    if not 1 <= count <= _POINTS or count != int(count):
        raise NotRepresentedError(f"its fixed axis has {count:.0f} points")
    return tuple(offset + step * index for index in range(int(count)))


def _three(texts: list[str]) -> tuple[float, float, float]:
    numbers = [as_number(text) for text in texts]
    first, second, third = [*numbers, None, None, None][:3]
    if first is None or second is None or third is None:
        raise NotRepresentedError("the parameters of its fixed axis are no three numbers")
    return first, second, third


def _first(told: Told, key: str) -> str | None:
    found = told.get(key)
    return str(found[0]).strip() if found else None


def _limits(told: Told, limits: tuple[float, float]) -> tuple[float, float]:
    extended = [as_number(text) for text in told.get("EXTENDED_LIMITS", ())]
    low, high = [*extended, None, None][:2]
    return limits if low is None or high is None else (low, high)


def _shape(told: Told, kind: str) -> tuple[int, ...]:
    """The lengths of a block; those of 1 behind the last longer one say nothing."""
    found = [as_whole(text) for text in told.get("MATRIX_DIM", told.get("NUMBER", ()))]
    sizes = [size for size in found if size is not None]
    while len(sizes) > 1 and sizes[-1] == 1:
        sizes.pop()
    if kind in ("block", "text") and (not sizes or any(not 0 < size <= _POINTS for size in sizes)):
        raise NotRepresentedError("the number of its values is not told")
    if kind == "block" and len(sizes) > len(AXES):
        raise NotRepresentedError(f"it is a block of {len(sizes)} dimensions")
    return tuple(sizes) if kind in ("block", "text") else ()


def _mask(told: Told) -> int | None:
    return as_whole(told["BIT_MASK"][0]) if told.get("BIT_MASK") else None


def _same_memory(told: Told) -> None:
    extension = _first(told, "ECU_ADDRESS_EXTENSION")
    if extension is not None and as_whole(extension) != 0:
        raise NotRepresentedError(
            f"it stands in another memory (address extension {quoted(extension)})"
        )


def _absolute(told: Told) -> None:
    if _first(told, "DEPOSIT") == "DIFFERENCE":
        raise NotRepresentedError("its axis is stored as differences (DEPOSIT DIFFERENCE)")


def _reads(name: str) -> str:
    return "" if name == "NO_INPUT_QUANTITY" else name
