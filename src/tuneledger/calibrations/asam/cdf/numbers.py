"""The values of an instance or axis: V for a number, VT for a word, VG for a group of them."""

from xml.etree.ElementTree import Element

import numpy as np

from tuneledger.arrays import FloatArray
from tuneledger.bounded import at_most, raised_by
from tuneledger.calibrations.asam.a2l.fields import as_number
from tuneledger.calibrations.asam.limits import CELLS
from tuneledger.calibrations.asam.parameter import AXES, NotRepresentedError
from tuneledger.calibrations.tree import quoted
from tuneledger.record import record

_SWITCH = {"true": 1.0, "false": 0.0}
_NUMBERS, _WORD, _GROUP, _LABEL = ("V", "VF"), "VT", "VG", "LABEL"
_NONE = "it holds no values"
Cell = tuple[float, str | None]


@record
class Numbers:
    """Values in the shape of their groups, x first; words, flat, where the file has words."""

    values: FloatArray
    words: tuple[str, ...] | None = None


def read_numbers(container: Element) -> Numbers:
    """The values below SW-VALUES-PHYS. NotRepresentedError where they are none, or no grid."""
    held = container.find("SW-VALUES-PHYS")
    if held is None:
        coded = container.find("SW-VALUES-CODED") is not None
        raise NotRepresentedError("it holds stored numbers only" if coded else _NONE)
    cells, shape = _grid(held, 1)
    if not cells:
        raise NotRepresentedError(_NONE)
    if len(cells) > at_most(CELLS):
        raise NotRepresentedError(f"it has more than {at_most(CELLS)} values{raised_by()}")
    shape = _told_shape(container, shape)
    values = np.asarray([cell[0] for cell in cells], dtype=np.float64).reshape(shape).T
    words = np.asarray([cell[1] for cell in cells], dtype=object).reshape(shape).T.reshape(-1)
    spoken = any(word is not None for word in words)
    return Numbers(np.array(values), tuple(word or "" for word in words) if spoken else None)


def _told_shape(container: Element, nested: tuple[int, ...]) -> tuple[int, ...]:
    """The shape of the values, x last, by how they nest and by what SW-ARRAYSIZE tells."""
    sizes = _sizes(container)[::-1]
    if not sizes:
        return () if nested == (1,) else nested
    flat = len(nested) == 1 or nested[-len(sizes) :] == sizes
    if int(np.prod(sizes)) != int(np.prod(nested)) or not flat:
        raise NotRepresentedError("the number of its values is not the one that it tells")
    return sizes


def _grid(held: Element, depth: int) -> tuple[list[Cell], tuple[int, ...]]:
    """All values in the order of the file, and how they nest: z, y and x of three axes.

    A group holds the values along x for one y; a group of such groups those for one z.
    """
    groups = held.findall(_GROUP)
    if not groups:
        row = [_cell(child) for child in held if child.tag != _LABEL]
        return row, (len(row),)
    if len(groups) < sum(child.tag != _LABEL for child in held):
        raise NotRepresentedError("values stand beside groups of values")
    if depth == len(AXES):
        raise NotRepresentedError(f"its values nest more than {len(AXES)} deep")
    found = [_grid(group, depth + 1) for group in groups]
    shapes = {shape for _, shape in found}
    if len(shapes) > 1:
        raise NotRepresentedError("its rows differ in length")
    return [cell for cells, _ in found for cell in cells], (len(groups), *shapes.pop())


def _sizes(container: Element) -> tuple[int, ...]:
    """SW-ARRAYSIZE, x first; trailing ones say nothing."""
    found = [as_number((v.text or "").strip()) for v in container.findall("SW-ARRAYSIZE/V")]
    sizes = [int(one) for one in found if one is not None and 0 < one <= CELLS]
    while len(sizes) > 1 and sizes[-1] == 1:
        sizes.pop()
    return tuple(sizes)


def _cell(element: Element) -> Cell:
    """A number and, where it stands as a word, that word; NaN for a word that is no switch."""
    text = element.text or ""
    if element.tag == _WORD:
        return _SWITCH.get(text.strip().casefold(), float("nan")), text
    number = as_number(text.strip()) if element.tag in _NUMBERS else None
    if number is None:
        raise NotRepresentedError(f"it holds {quoted(text.strip())} as a value")
    return number, None
