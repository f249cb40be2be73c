"""From the unit that a calibration file tells to the one that a sheet wants at a place."""

from typing import Any

from tuneledger.arrays import FloatArray
from tuneledger.calibrations.asam.a2l.conversions import clean
from tuneledger.calibrations.asam.mapping.named import Looking, is_named
from tuneledger.calibrations.tree import quoted
from tuneledger.signals import SIGNALS
from tuneledger.units import conversion, parse_unit

POINTS = ("at", "above", "below", "between", "is", "release")
_DEGREES = ("values", "amount", "range", "lowest", "highest", "below_map", "above_map")
WANTED = {
    **dict.fromkeys(_DEGREES, "deg"),
    **dict.fromkeys(("held", "linger", "rate"), "s"),
    **dict.fromkeys(("ramp", "down", "up"), "deg/s"),
    "redline_rpm": "rpm",
}
"""The unit in which a sheet has what stands under a key."""


def in_unit(
    numbers: FloatArray, has: str, wanted: str | None, looking: Looking, place: str
) -> FloatArray:
    """Numbers of one unit in another. Where the file tells no known unit, they are taken as the
    wanted one, and a note says so; two units of different kinds are a fault."""
    one, other = parse_unit(has), parse_unit(wanted or "")
    if wanted is None:
        return numbers
    if one is None or (one.kind == "number" and wanted not in ("", "1")):
        told = f"its unit {quoted(has)} is not known" if has.strip() else "it has no unit"
        looking.note(f"{looking.used[-1].name}: {told}; taken as {wanted or 'a bare number'}")
        return numbers
    found = conversion(has, wanted)
    clash = other is not None and {one.gauge, other.gauge} == {True, False}
    if found is None or clash:
        raise looking.wrong(
            f"{quoted(looking.used[-1].name)} is in {quoted(has)}", place, f"a unit like {wanted}"
        )
    return numbers if found == (1.0, 0.0) else clean(numbers * found[0] + found[1])


def reading_unit(reading: dict[str, Any], has: str, looking: Looking, place: str) -> str | None:
    """The unit of an axis or comparison in the sheet; set in it where the mapping sets none.

    has: the unit of what is named there. None: numbers stay as they are.
    """
    if "since" in reading:
        return "s"
    if "unit" in reading:
        unit = str(reading["unit"])
        return f"{unit}/s" if "rate" in reading else unit
    if "over" in reading:
        return ""
    signal = SIGNALS.get(str(reading.get("signal")))
    known = parse_unit(has.removesuffix("/s") if "rate" in reading else has)
    if known is not None and known.kind != "number":
        reading["unit"] = known.symbol
        return f"{known.symbol}/s" if "rate" in reading else known.symbol
    if signal is not None and signal.unit:
        told = f"unit {quoted(has)}, which is not known" if has.strip() else "no unit"
        name = quoted(looking.used[-1].name)
        do = f'Write unit = "{signal.unit}" there, or what the numbers are in.'
        raise looking.wrong(f"{name} has {told}", place, do=do)
    if has.strip():
        looking.note(f"{looking.used[-1].name}: its unit {quoted(has)} is not known; left out")
    return None


def names_points(reading: dict[str, Any]) -> bool:
    """Whether a reading names a parameter for its points or thresholds."""
    return any(
        is_named(value) or (isinstance(value, list) and any(map(is_named, value)))
        for value in (reading.get(key) for key in POINTS)
    )
