"""The array types that pass between rooms: one-dimensional NumPy arrays of three kinds."""

from typing import TypeAlias, TypeVar

import numpy as np
from numpy.typing import NDArray

FloatArray: TypeAlias = NDArray[np.float64]
BoolArray: TypeAlias = NDArray[np.bool_]
IntArray: TypeAlias = NDArray[np.int64]
Number = TypeVar("Number", bound=np.generic)


def each_once(values: NDArray[Number]) -> NDArray[Number]:
    """Every value once, in rising order. Asking for counts too keeps `np.unique` from importing
    `numpy.ma`, which would cost every start a fiftieth of a second."""
    found: NDArray[Number] = np.unique(values, return_counts=True)[0]
    return found


def frozen(values: NDArray[np.generic]) -> None:
    """Make an array read-only, so that a value handed to another room stays what it was."""
    values.setflags(write=False)
