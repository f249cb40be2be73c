"""Units: spellings, factors and offsets, and conversion between units of one kind."""

from dataclasses import dataclass

from tuneledger.arrays import FloatArray


@dataclass(frozen=True, slots=True)
class Unit:
    """A unit of one kind of quantity: base value = factor · number + offset.

    symbol: the one spelling that this program writes (`degC`, `kPa`, `rpm`, `deg`, `%`)
    kind:   "angle", "pressure", "temperature", "rotation", "speed", "voltage", "ratio", "time", …
    """

    symbol: str
    kind: str
    factor: float
    offset: float = 0.0


def parse_unit(text: str) -> Unit | None:
    """The unit that a text spells, in any of the known spellings and languages, or None."""
    raise NotImplementedError


def conversion(source: str, target: str) -> tuple[float, float] | None:
    """(scale, offset) with target number = scale · source number + offset; None if of two kinds."""
    raise NotImplementedError


def convert(values: FloatArray, source: str, target: str) -> FloatArray:
    """Numbers in one unit as numbers in another. NaN stays NaN. ValueError if of two kinds."""
    raise NotImplementedError
