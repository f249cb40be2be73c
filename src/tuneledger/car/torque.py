"""What the virtual engine takes from `tuneledger.torque`, and how far its crankshaft turns.

Boosted air here lies outside the fit of the polynomial, where it stays smooth and keeps its shape,
which is all that a made-up engine needs.
"""

from typing import TypeVar

from tuneledger.arrays import FloatArray

FITTED_LITRES = (
    2.0  # displacement to which the air mass is scaled; from memory of engines that size
)

Number = TypeVar("Number", float, FloatArray)


def crank_degrees(rpm: Number, seconds: Number) -> Number:
    """How far the crankshaft turns: 6 degrees per rpm and second, since a turn is 360 degrees."""
    return 6.0 * rpm * seconds
