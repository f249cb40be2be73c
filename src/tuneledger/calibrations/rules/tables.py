"""Tables: one to three rising axes, and values nested in exactly their shape, or one number."""

from collections.abc import Iterator

from tuneledger.calibrations.cells import UNKNOWN_CELL
from tuneledger.calibrations.rules.readings import reading
from tuneledger.calibrations.rules.scope import Scope
from tuneledger.calibrations.tree import Spot, plain, shown
from tuneledger.errors import Fault
from tuneledger.wording import count

MOST_AXES = 3
LEVELS = ("value", "row", "layer")  # what a list of values holds, from the innermost outwards
CELL = f'a number, or "{UNKNOWN_CELL}" where it is not known'


def table(spot: Spot, scope: Scope) -> Iterator[Fault]:
    """A table that is there: table or amount but not both, axes, shape, cells."""
    axes, values, amount = spot["axes"], spot["values"], spot["amount"]
    has_axes = bool(axes.value)
    if "amount" in spot and (has_axes or "values" in spot):
        yield amount.fault("an amount beside a table", do="Keep one of the two.")
    elif has_axes and "values" not in spot:
        yield spot.fault("axes without values", "values in the shape of the axes")
    elif "values" in spot and not has_axes:
        yield values.fault("values without axes", "axes", "For one number, write amount.")
    if (axes.count or 0) > MOST_AXES:
        yield axes.fault(f"{axes.count} axes", "one to three")
    for axis in axes:
        yield from reading(axis, scope)
        yield from _rising(axis["at"])
    if 0 < (axes.count or 0) <= MOST_AXES and "values" in spot:
        yield from _shape(values, tuple(axes))


def has_numbers(spot: Spot) -> bool:
    """Whether there is a table or an amount at all, right or wrong."""
    return "values" in spot or "amount" in spot or bool(spot["axes"].value)


def cells(values: Spot) -> Iterator[Spot]:
    """Every innermost value of nested lists."""
    if values.count is None:
        yield values
    for item in values:
        yield from cells(item)


def _rising(at: Spot) -> Iterator[Fault]:
    before: float | None = None
    for point in at:
        number = point.number
        if number is not None and before is not None and number <= before:
            yield point.fault(f"{plain(number)} does not rise above {plain(before)}")
        before = number if number is not None else before


def _shape(values: Spot, axes: tuple[Spot, ...]) -> Iterator[Fault]:
    if _turned_round(values, axes):
        rows, columns = values.count or 0, next(iter(values)).count or 0
        yield values.fault(
            f"{rows} rows of {columns}",
            f"{columns} rows of {rows}, one row for each point of axes[0]",
            "Turn the table round, or let the two axes change places.",
        )
        return
    yield from _level(values, axes)


def _turned_round(values: Spot, axes: tuple[Spot, ...]) -> bool:
    """A table over two axes of different length, with its rows where its columns should be."""
    if len(axes) != 2:
        return False
    first, second = (axis["at"].count for axis in axes)
    inner = {row.count for row in values}
    return first != second and values.count == second and inner == {first}


def _level(values: Spot, axes: tuple[Spot, ...]) -> Iterator[Fault]:
    """One level of nesting; `axes` are those along which it and what is below it runs."""
    if not axes:
        if values.number is None and values.value != UNKNOWN_CELL:
            yield values.fault(shown(values.value), CELL)
        return
    wanted = axes[0]["at"].count
    kind = LEVELS[min(len(axes), MOST_AXES) - 1]
    many = count(wanted, kind) if wanted else f"{kind}s"
    if values.count is None:
        yield values.fault(shown(values.value), f"a list of {many}")
        return
    if wanted and values.count != wanted:
        expected = f"{wanted}, one for each point of {_called(axes[0])}"
        yield values.fault(count(values.count, kind), expected)
    inner = tuple(values)
    if len(axes) > 1 and inner and all(item.count is None for item in inner):
        yield values.fault("a flat list", f"{many}, each a list of its own")
        return
    for item in inner:
        yield from _level(item, axes[1:])


def _called(axis: Spot) -> str:
    """`axes[1] (engine speed)`."""
    place = axis.path[axis.path.rindex("axes[") :]
    name = axis["signal"].text or axis["channel"].text
    return f"{place} ({name})" if name else place
