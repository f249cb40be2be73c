"""The cells of a table: nested tuples of numbers, as deep as it has axes, "?" where not known."""

from typing import Annotated, Any

from pydantic import BeforeValidator, WithJsonSchema

UNKNOWN_CELL = "?"

_CELL: dict[str, Any] = {"anyOf": [{"type": "number"}, {"const": UNKNOWN_CELL}]}


def _list_of(items: dict[str, Any]) -> dict[str, Any]:
    return {"type": "array", "minItems": 1, "items": items}


_LEVELS = [_list_of(_CELL), _list_of(_list_of(_CELL)), _list_of(_list_of(_list_of(_CELL)))]


def as_floats(cells: Any) -> Any:
    """Nested tuples with every whole number made a float; what is no number stays as it is."""
    if isinstance(cells, tuple | list):
        return tuple(as_floats(cell) for cell in cells)
    whole = isinstance(cells, int) and not isinstance(cells, bool) and abs(cells) < 10**300
    return float(cells) if whole else cells


def as_numbers(cells: Any) -> Any:
    """The same nesting as lists, NaN for what is not known."""
    if isinstance(cells, tuple):
        return [as_numbers(cell) for cell in cells]
    return float("nan") if cells == UNKNOWN_CELL else cells


# the model makes them tuples of floats; that they have the axes' shape is in `rules.tables`
Cells = Annotated[tuple[Any, ...], BeforeValidator(as_floats), WithJsonSchema({"anyOf": _LEVELS})]
