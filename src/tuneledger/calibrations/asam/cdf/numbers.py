"""The values of an instance or axis: V for a number, VT for a word, VG for a group of them."""

from dataclasses import dataclass
from xml.etree.ElementTree import Element

import numpy as np

from tuneledger.arrays import FloatArray
from tuneledger.calibrations.asam.a2l.fields import as_number
from tuneledger.calibrations.asam.limits import CELLS
from tuneledger.calibrations.asam.parameter import NotRepresentedError
from tuneledger.calibrations.tree import quoted

_SWITCH = {"true": 1.0, "false": 0.0}
_NUMBERS, _WORD, _GROUP, _LABEL = ("V", "VF"), "VT", "VG", "LABEL"


@dataclass(frozen=True, slots=True)
class Numbers:
    """Values in the shape of their groups, x first; words, flat, where the file has words."""

    values: FloatArray
    words: tuple[str, ...] | None = None


def read_numbers(container: Element) -> Numbers:
    """The values below SW-VALUES-PHYS. NotRepresentedError where they are none, or no grid."""
    held = container.find("SW-VALUES-PHYS")
    if held is None:
        coded = container.find("SW-VALUES-CODED") is not None
        raise NotRepresentedError("it holds stored numbers only" if coded else "it holds no values")
    groups = held.findall(_GROUP)
    if groups and len(groups) < sum(child.tag != _LABEL for child in held):
        raise NotRepresentedError("values stand beside groups of values")
    rows = [_row(group) for group in groups] or [_row(held)]
    if len({len(row) for row in rows}) != 1 or not rows[0]:
        raise NotRepresentedError("its rows differ in length" if rows[0] else "it holds no values")
    if len(rows) * len(rows[0]) > CELLS:
        raise NotRepresentedError(f"it has more than {CELLS} values")
    grid = np.asarray([[cell[0] for cell in row] for row in rows], dtype=np.float64)
    words = [[cell[1] for cell in row] for row in rows]
    spoken = any(word is not None for row in words for word in row)
    sizes = _sizes(container)
    if groups:
        values = grid.T  # a group for each y, its values along x
        flat = [row[x] or "" for x in range(len(rows[0])) for row in words]
    else:
        values, flat = grid[0], [word or "" for word in words[0]]
        if not sizes and len(values) == 1:
            values = values.reshape(())
    if sizes and sizes != values.shape:
        if int(np.prod(sizes)) != values.size or len(sizes) != 2 or groups:
            raise NotRepresentedError("the number of its values is not the one that it tells")
        values = values.reshape(sizes[::-1]).T
    return Numbers(np.array(values), tuple(flat) if spoken else None)


def _sizes(container: Element) -> tuple[int, ...]:
    """SW-ARRAYSIZE, x first; trailing ones say nothing."""
    found = [as_number((v.text or "").strip()) for v in container.findall("SW-ARRAYSIZE/V")]
    sizes = [int(one) for one in found if one is not None and 0 < one <= CELLS]
    while len(sizes) > 1 and sizes[-1] == 1:
        sizes.pop()
    return tuple(sizes)


def _row(element: Element) -> list[tuple[float, str | None]]:
    return [_cell(child) for child in element if child.tag != _LABEL]


def _cell(element: Element) -> tuple[float, str | None]:
    """A number and, where it stands as a word, that word; NaN for a word that is no switch."""
    text = element.text or ""
    if element.tag == _WORD:
        return _SWITCH.get(text.strip().casefold(), float("nan")), text
    number = as_number(text.strip()) if element.tag in _NUMBERS else None
    if number is None:
        what = "groups in groups" if element.tag == _GROUP else f"{quoted(text.strip())} as a value"
        raise NotRepresentedError(f"it holds {what}")
    return number, None
