"""The array types that pass between rooms: one-dimensional NumPy arrays of three kinds."""

from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

FloatArray: TypeAlias = NDArray[np.float64]
BoolArray: TypeAlias = NDArray[np.bool_]
IntArray: TypeAlias = NDArray[np.int64]


def frozen(values: NDArray[np.generic]) -> None:
    """Make an array read-only, so that a value handed to another room stays what it was."""
    values.setflags(write=False)
