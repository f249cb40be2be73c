"""Conversions by a formula, which are carried out here and never by the library.

The library hands a formula that it cannot read to an interpreter, with whatever a stranger put into
it, or takes the stored number for the physical one.
"""

from typing import Any

from tuneledger.formula import Formula, read_formula

_KIND = {"3": 10, "4": 3}  # the conversion's type by the format's first digit


def stored_alone(conversion: Any, version: str) -> bool:
    """Whether only the stored numbers may be asked for: the conversion is or holds a formula."""
    return _is_formula(conversion, version) or any(
        stored_alone(part, version) for part in _parts(conversion)
    )


def formula_of(conversion: Any, version: str) -> Formula | None:
    """The formula of a conversion; None where it has none, or one that cannot be carried out."""
    if not _is_formula(conversion, version):
        return None
    # What the library makes of it in MDF 3 has lost the x of `exp`.
    field = getattr(conversion, "formula_field", None)
    text = field.decode("latin-1") if isinstance(field, bytes) else str(conversion.formula)
    try:
        return read_formula(text.strip(" \t\r\n\0"))
    except ValueError:
        return None


def _is_formula(conversion: Any, version: str) -> bool:
    kind = getattr(conversion, "conversion_type", None)
    return kind is not None and kind == _KIND.get(version[:1], _KIND["3"])


def _parts(conversion: Any) -> list[Any]:
    """Conversions within one, such as for a range of numbers."""
    blocks = getattr(conversion, "referenced_blocks", None) or {}
    return [block for block in blocks.values() if hasattr(block, "conversion_type")]
