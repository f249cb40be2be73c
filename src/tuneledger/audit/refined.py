"""A sheet with its map written out at other points: the same calibration, seen at more places.

The reach of a sheet is that of its map's own points. What acts only between two of them, or lies
at points that another revision has, is found where the map is written out there as well.
"""

from collections.abc import Iterator, Sequence

import numpy as np

from tuneledger.arrays import FloatArray
from tuneledger.audit.phrases import unit_of
from tuneledger.calibrations.model import Axis, Calibration, Comparison, Reading, Table, readings
from tuneledger.evaluate.lookup import interpolate
from tuneledger.signals import SIGNALS
from tuneledger.units import conversion

_ASIDE = 1e-6  # of a threshold: just on its other side
_MOST_CELLS = 20_000


def at_points(calibration: Calibration, axes: Sequence[Axis]) -> Calibration | None:
    """The sheet with its map at the points of these axes; None where its own read something else.

    Beyond its own points the map holds its end values.
    """
    table = calibration.spark.map
    bare = [[a.model_copy(update={"at": (0.0,)}) for a in some] for some in (table.axes, axes)]
    if bare[0] != bare[1]:
        return None
    points = [axis.points for axis in axes]
    columns = [mesh.ravel() for mesh in np.meshgrid(*points, indexing="ij")]
    values = interpolate([axis.points for axis in table.axes], table.grid, columns)
    cells = _nested(values.reshape(tuple(p.size for p in points)))
    written = Table(axes=tuple(axes), values=cells) if axes else table
    return calibration.model_copy(
        update={"spark": calibration.spark.model_copy(update={"map": written})}
    )


def at_every_break(calibration: Calibration) -> Calibration | None:
    """The sheet with its map at every point at which a correction bends or changes along it too.

    None where these are too many to look at.
    """
    axes = [_with_breaks(axis, calibration) for axis in calibration.spark.map.axes]
    if np.prod([len(axis.at) for axis in axes]) > _MOST_CELLS:
        return None
    return at_points(calibration, axes)


def _with_breaks(axis: Axis, calibration: Calibration) -> Axis:
    low, high = _span(axis)
    found = {float(x) for x in axis.at}
    for correction in calibration.spark.correction:
        for reading in readings(correction):
            found.update(x for x in _breaks(reading, axis) if low <= x <= high)
    return axis.model_copy(update={"at": tuple(sorted(found))})


def _span(axis: Axis) -> tuple[float, float]:
    """What its reading can be, in its unit."""
    signal = SIGNALS.get(axis.signal or "")
    found = conversion(signal.unit, unit_of(axis)) if signal else None
    if signal is None or found is None:
        return -np.inf, np.inf
    scale, offset = found
    return signal.lowest * scale + offset, signal.highest * scale + offset


def _breaks(reading: Reading, axis: Axis) -> Iterator[float]:
    """Where a reading of what the axis reads bends or is compared, in the axis' unit."""
    if not (_is_plain(reading) and _is_plain(axis)):
        return
    if (reading.signal, reading.channel) != (axis.signal, axis.channel):
        return
    scale, offset = conversion(unit_of(reading), unit_of(axis)) or (1.0, 0.0)
    if isinstance(reading, Axis):
        yield from (x * scale + offset for x in reading.at)
    elif isinstance(reading, Comparison):
        switch = 0.5 if isinstance(reading.is_, str) else reading.is_
        marks = [reading.above, reading.below, reading.release, switch, *(reading.between or ())]
        for mark in marks:
            if mark is not None:
                x = mark * scale + offset
                yield from (x - _ASIDE * max(abs(x), 1.0), x, x + _ASIDE * max(abs(x), 1.0))


def _is_plain(reading: Reading) -> bool:
    return not (reading.since or reading.minus or reading.over or reading.rate)


def _nested(values: FloatArray) -> tuple[object, ...]:
    """As a sheet has them, "?" where a cell is not known."""
    if values.ndim > 1:
        return tuple(_nested(row) for row in values)
    return tuple(float(x) if np.isfinite(x) else "?" for x in values)
