"""Cells of a map by their indexes."""

from typing import TypeAlias

import numpy as np

from tuneledger.arrays import BoolArray, FloatArray

Index: TypeAlias = tuple[int, ...]


def indexes(cells: BoolArray) -> list[Index]:
    """The chosen cells, in the order of the values; one empty index for a map that is a number."""
    return [tuple(int(i) for i in index) for index in np.argwhere(cells)]


def largest(values: FloatArray) -> Index:
    """Where the largest value stands."""
    return tuple(int(i) for i in np.unravel_index(int(np.argmax(values)), values.shape))
