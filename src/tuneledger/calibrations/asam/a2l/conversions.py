"""Conversions from what is stored to what it means (COMPU_METHOD and its tables)."""

from collections.abc import Callable, Mapping

import numpy as np

from tuneledger.arrays import FloatArray
from tuneledger.calibrations.asam.a2l.blocks import Block
from tuneledger.calibrations.asam.a2l.fields import Fields, as_number
from tuneledger.calibrations.asam.a2l.inverse import physical
from tuneledger.calibrations.asam.a2l.tokens import Quoted
from tuneledger.calibrations.asam.parameter import NotRepresentedError
from tuneledger.calibrations.tree import quoted
from tuneledger.formula import read_formula
from tuneledger.record import record
from tuneledger.wording import number as shown

NO_METHOD = "NO_COMPU_METHOD"
_DIGITS = 12  # significant; what lies beyond is noise of the calculation


@record
class Converted:
    """Physical numbers, and the words that stand for them where the method is one of words."""

    numbers: FloatArray
    words: tuple[str, ...] | None = None


Convert = Callable[[FloatArray, tuple[float, float]], Converted]
"""From raw numbers to physical ones. The limits (lowest, highest) tell apart two solutions."""


@record
class Method:
    """A conversion, with the unit of what comes out.

    straight: what comes out is linear in what is stored
    """

    unit: str
    convert: Convert
    straight: bool = False


def read_method(name: str, methods: Mapping[str, Block], tables: Mapping[str, Block]) -> Method:
    """The conversion of a name. NotRepresentedError where there is none that can be carried out."""
    if name == NO_METHOD:
        return Method("", _identical, straight=True)
    block = methods.get(name)
    if block is None:
        raise NotRepresentedError(f"its conversion {quoted(name)} is not in the description")
    fields = Fields(block)
    fields.word("its name")
    fields.text("its long identifier")
    kind = fields.word("its kind")
    fields.text("its format")
    unit = fields.text("its unit").strip()
    told = fields.keywords()
    if kind == "FORM":
        return Method(unit, _formula(block))
    reader = _READERS.get(kind)
    if reader is None:
        raise NotRepresentedError(f"its conversion is of the kind {quoted(kind)}")
    return Method(unit, reader(told, tables), _straight(kind, told))


def _straight(kind: str, told: Mapping[str, list[str]]) -> bool:
    """RAT_FUNC is linear where neither a square nor a division is left of it."""
    if kind == "RAT_FUNC":
        a, _, _, d, e, _ = _coefficients(told, "COEFFS", 6)
        return a == d == e == 0
    return kind in ("IDENTICAL", "LINEAR")


def _identical(raw: FloatArray, _: tuple[float, float]) -> Converted:
    return Converted(raw)


def _linear(told: Mapping[str, list[str]], _: Mapping[str, Block]) -> Convert:
    slope, offset = _coefficients(told, "COEFFS_LINEAR", 2)
    if slope == 0:
        raise NotRepresentedError("its conversion gives the same number whatever is stored")
    return lambda raw, _: Converted(clean(slope * raw + offset))


def _rational(told: Mapping[str, list[str]], _: Mapping[str, Block]) -> Convert:
    six = _coefficients(told, "COEFFS", 6)
    return lambda raw, limits: Converted(clean(physical(raw, six, limits)))


def _formula(block: Block) -> Convert:
    """FORM: a formula that gives the physical number out of X1, the stored one."""
    inside = next(block.inside("FORMULA"), None)
    text = inside.called if inside is not None else ""
    try:
        formula = read_formula(text)
    except ValueError as problem:
        reason = f"its conversion is a formula that is not carried out, {quoted(text[:40])}"
        raise NotRepresentedError(f"{reason}: {problem}") from problem
    return lambda raw, _: Converted(clean(formula(raw)))


def _coefficients(told: Mapping[str, list[str]], key: str, wanted: int) -> list[float]:
    found = [as_number(text) for text in told.get(key, ())]
    numbers = [number for number in found if number is not None]
    if len(numbers) != wanted or len(found) != wanted:
        raise NotRepresentedError(f"its conversion lacks {key} with {wanted} numbers")
    return numbers


def _table(told: Mapping[str, list[str]], tables: Mapping[str, Block]) -> Fields:
    name = (told.get("COMPU_TAB_REF") or [""])[0]
    block = tables.get(name)
    if block is None:
        raise NotRepresentedError(
            f"its conversion's table {quoted(name)} is not in the description"
        )
    fields = Fields(block)
    fields.word("its name")
    fields.text("its long identifier")
    return fields


def _numeric(
    told: Mapping[str, list[str]], tables: Mapping[str, Block], *, between: bool
) -> Convert:
    """TAB_INTP, and TAB_NOINTP, which knows no values between the stored ones."""
    fields = _table(told, tables)
    fields.word("its kind")
    size = fields.whole("the number of pairs", 1 << 16)
    pairs = np.array(
        [[fields.number("a pair"), fields.number("a pair")] for _ in range(max(size, 0))]
    ).reshape(-1, 2)
    rest = list(fields.rest())
    default = (
        rest[rest.index("DEFAULT_VALUE_NUMERIC") + 1 :] if "DEFAULT_VALUE_NUMERIC" in rest else []
    )
    other = as_number(default[0]) if default else None
    pairs = pairs[np.argsort(pairs[:, 0], kind="stable")]
    if not len(pairs) or (np.diff(pairs[:, 0]) == 0).any():
        raise NotRepresentedError("the table of its conversion is empty or has a number twice")

    def convert(raw: FloatArray, _: tuple[float, float]) -> Converted:
        known = (
            (raw >= pairs[0, 0]) & (raw <= pairs[-1, 0]) if between else np.isin(raw, pairs[:, 0])
        )
        if not known.all() and other is None:
            raise NotRepresentedError(
                f"{shown(float(raw[~known][0]))} is stored, which the table of its conversion lacks"
            )
        found: FloatArray = np.interp(raw, pairs[:, 0], pairs[:, 1])
        if other is not None:
            found = np.where(known, found, other)
        return Converted(clean(np.asarray(found)))

    return convert


def _verbal(told: Mapping[str, list[str]], tables: Mapping[str, Block]) -> Convert:
    """TAB_VERB: a word for each stored number, or for each range of them."""
    fields = _table(told, tables)
    ranges = fields.block.name == "COMPU_VTAB_RANGE"
    if not ranges:
        fields.word("its kind")
    rows: list[tuple[float, float, str]] = []
    for _ in range(max(fields.whole("the number of words", 1 << 16), 0)):
        low = fields.number("a number before a word")
        high = fields.number("the end of a range") if ranges else low
        rows.append((low, high, fields.text("a word")))
    rest = list(fields.rest())
    default = rest[rest.index("DEFAULT_VALUE") + 1 :] if "DEFAULT_VALUE" in rest else []
    other = str(default[0]) if default and isinstance(default[0], Quoted) else None

    def word(raw: float) -> str:
        found = next((text for low, high, text in rows if low <= raw <= high), other)
        if not found:
            raise NotRepresentedError(
                f"{shown(raw)} is stored, for which its conversion has no word"
            )
        return found

    return lambda raw, _: Converted(raw, tuple(word(float(one)) for one in raw.reshape(-1)))


_READERS: dict[str, Callable[[Mapping[str, list[str]], Mapping[str, Block]], Convert]] = {
    "IDENTICAL": lambda told, tables: _identical,
    "LINEAR": _linear,
    "RAT_FUNC": _rational,
    "TAB_INTP": lambda told, tables: _numeric(told, tables, between=True),
    "TAB_NOINTP": lambda told, tables: _numeric(told, tables, between=False),
    "TAB_VERB": _verbal,
}


def clean(numbers: FloatArray) -> FloatArray:
    """Numbers without what the binary calculation left behind their twelfth digit."""
    if not np.isfinite(numbers).all():
        raise NotRepresentedError("its conversion gives a number that is not finite")
    flat = [float(f"{one:.{_DIGITS}g}") + 0.0 for one in numbers.reshape(-1)]
    return np.asarray(flat, dtype=np.float64).reshape(numbers.shape)
