"""Units: spellings, factors and offsets, and conversion between units of one kind.

Factors are those of NIST Special Publication 811 (2008), appendix B; the tests check them against
it and against pint. A label says little about the reference of a pressure, so that `psig` and
`psia` differ in `gauge` only, and no conversion here adds the outside air: who reads a channel as
an absolute pressure does (see `roles`).
"""

from functools import cache
from typing import TYPE_CHECKING

from tuneledger.units.qualified import qualified
from tuneledger.units.scaled import scaled
from tuneledger.units.spellings import plain, spellings
from tuneledger.units.table import UNITS, Unit

if TYPE_CHECKING:
    from tuneledger.arrays import FloatArray

__all__ = ["UNITS", "Unit", "conversion", "convert", "parse_unit"]


_LONGEST = 100  # letters; what is longer is a text, and would be taken apart again and again


@cache
def parse_unit(text: str) -> Unit | None:
    """The unit that a text spells, in any of the known spellings and languages, or None.

    No unit at all (an empty text, `-`) is the bare number: `Unit("", "number", 1)`.
    A unit with words of where it is counted from (`° v. OT`, `mbar abs`) is that unit. One with a
    power of ten before it (`0.1 rpm`) counts in that.
    `g` is the acceleration (a car's log has few grams), `grad` is the German and Russian degree.
    """
    if len(text) > _LONGEST:
        return None
    exact, folded = spellings()
    wanted = plain(text)
    unit = exact.get(wanted) or folded.get(wanted.casefold())
    if unit is None and wanted.endswith(("/s", "/sec")):
        base = parse_unit(wanted.rpartition("/")[0])
        if base is not None and base.kind != "number":
            return Unit(f"{base.symbol}/s", f"{base.kind} rate", base.factor)
    return unit or qualified(text) or scaled(text, parse_unit)


def conversion(source: str, target: str) -> tuple[float, float] | None:
    """(scale, offset) with target number = scale · source number + offset.

    None if the two are of different kinds or one is not known. `1` is a fraction of a whole
    against `%`, and a bare number against no unit.
    """
    one, other = parse_unit(source), parse_unit(target)
    if one is None or other is None:
        return None
    if {one.symbol, other.symbol} == {"1", ""}:
        return 1.0, 0.0
    if one.kind != other.kind:
        return None
    return one.factor / other.factor, (one.offset - other.offset) / other.factor


def convert(values: "FloatArray", source: str, target: str) -> "FloatArray":
    """Numbers in one unit as numbers in another. NaN stays NaN. ValueError if of two kinds."""
    found = conversion(source, target)
    if found is None:
        raise ValueError(f"'{source}' and '{target}' are not two units of one kind")
    scale, offset = found
    return values * scale + offset
