"""A table whose axis is reached through another one, as a table over what is really read.

A broken line leads from a quantity to a place along the axis, where 0 is the first value and 1 the
next. A table that is linear between places, behind such a line, is again linear in pieces: it bends
where the line bends, and where the line passes a place. With points at all of these it is the same
everywhere, not only at the points.
"""

from collections.abc import Callable, Sequence

import numpy as np

from tuneledger.arrays import FloatArray
from tuneledger.bounded import at_most, raised_by
from tuneledger.calibrations.asam.a2l.conversions import clean
from tuneledger.calibrations.asam.limits import CELLS
from tuneledger.calibrations.asam.parameter import (
    AXES,
    NotRepresentedError,
    Parameter,
    ParameterAxis,
)
from tuneledger.calibrations.tree import quoted
from tuneledger.record import record
from tuneledger.wording import count, number

DEEPEST = 8  # axes that lead to axes
_NEAR = 1e-9  # of a place; what is closer is the same place


@record
class Line:
    """A broken line from a quantity to places.

    points: of the quantity, strictly rising
    places: one for each point; they may rise, fall or stay
    put_in: how many of the points were put in where the line passes a place
    """

    points: FloatArray
    places: FloatArray
    put_in: int = 0


@record
class Link:
    """What another parameter says of an axis.

    name:  of that parameter
    count: how many points the axis has, where that parameter tells
    line:  the way from the quantity to the places of a table of so many points
    """

    name: str
    count: int | None
    unit: str
    reads: str
    line: Callable[[int], Line]


def in_a_circle(name: str) -> NotRepresentedError:
    """What is raised where an axis is read through itself."""
    return NotRepresentedError(f"its axis leads back to itself by {quoted(name)}")


def line(points: FloatArray, places: FloatArray, name: str) -> Line:
    """The line through these points, in either order. NotRepresentedError where it steps."""
    if len(points) > 1 and points[0] > points[-1]:
        points, places = points[::-1], places[::-1]
    again = np.flatnonzero(np.diff(points) == 0) + 1
    if again.size and (places[again] == places[again - 1]).all():
        points, places = np.delete(points, again), np.delete(places, again)
    if (np.diff(points) <= 0).any():
        raise NotRepresentedError(f"the points of {quoted(name)} neither rise nor fall")
    return Line(points, places)


def bent(found: Line, size: int, name: str) -> Line:
    """The line with a point wherever it passes a place from 0 to size − 1.

    Raises NotRepresentedError where it never comes near them, or would have too many points.
    """
    low, high = float(found.places.min()), float(found.places.max())
    if high < 0 or low > size - 1:
        raise NotRepresentedError(
            f"{quoted(name)} gives {number(low)} to {number(high)} as the place along its axis, "
            f"which has places from 0 to {size - 1}"
        )
    passed = np.abs(np.diff(np.clip(found.places, 0, size - 1))).sum()
    if len(found.points) + passed > at_most(CELLS):
        most = f"more than {at_most(CELLS)} points{raised_by()}"
        raise NotRepresentedError(f"{quoted(name)} would give it {most}")
    points, places = [float(found.points[0])], [float(found.places[0])]
    for index in range(1, len(found.points)):
        start, end = float(found.places[index - 1]), float(found.places[index])
        before, after = float(found.points[index - 1]), float(found.points[index])
        for place in _between(start, end, size):
            at = float(f"{before + (place - start) * (after - before) / (end - start):.12g}")
            if points[-1] < at < after:
                points.append(at)
                places.append(float(place))
        points.append(after)
        places.append(end)
    more = len(points) - len(found.points)
    return Line(np.asarray(points), np.asarray(places), more)


def _between(start: float, end: float, size: int) -> list[int]:
    """The places strictly between two, in the order in which they are passed."""
    low, high = max(min(start, end), -1.0), min(max(start, end), float(size))
    inside = range(int(np.floor(low + _NEAR)) + 1, int(np.ceil(high - _NEAR)))
    kept = [place for place in inside if 0 <= place < size]
    return kept if start <= end else kept[::-1]


def laid(values: FloatArray, axis: int, places: FloatArray) -> FloatArray:
    """Values at places along one of their axes: linear between, held beyond the ends."""
    size = values.shape[axis]
    if values.size // size * len(places) > at_most(CELLS):
        most = f"more than {at_most(CELLS)} values{raised_by()}"
        raise NotRepresentedError(f"it would have {most}")
    at = np.clip(places, 0, size - 1)
    lower = np.floor(at).astype(np.intp)
    upper = np.minimum(lower + 1, size - 1)
    share = (at - lower).reshape([-1 if n == axis else 1 for n in range(values.ndim)])
    below, above = np.take(values, lower, axis), np.take(values, upper, axis)
    return below if not share.any() else clean(below + share * (above - below))


def _told(parameter: str, axis: str, found: Line, size: int, name: str) -> tuple[str, ...]:
    """What someone should know of an axis that was reached so, as sentences."""
    where = f"{parameter}: its axis {axis} is reached through {name}"
    put_in = f"; {count(found.put_in, 'point')} put in where that bends" if found.put_in else ""
    low, high = float(found.places.min()), float(found.places.max())
    notes = [f"{where}{put_in}"]
    if low > _NEAR or high < size - 1 - _NEAR:
        notes.append(
            f"{parameter}: {name} reaches the places {number(max(low, 0.0))} to "
            f"{number(min(high, size - 1))} of 0 to {size - 1} along {axis}; what lies beyond in "
            "the control unit is never used"
        )
    return tuple(notes)


def through_curve(found: Parameter, *, straight: bool) -> Link:
    """The axis behind a curve.

    straight: whether what the curve holds is in proportion to what is stored. Else it is not
              linear between its points, and none can be put in.
    """
    if found.kind != "curve" or found.words is not None or found.axes[0].points is None:
        raise NotRepresentedError(f"its axis {quoted(found.name)} is no curve of numbers")
    own = found.axes[0]
    way = line(np.asarray(own.points), found.values, found.name)

    def of(size: int) -> Line:
        made = bent(way, size, found.name)
        if made.put_in and not straight:
            raise NotRepresentedError(
                f"{quoted(found.name)}, through which its axis is reached, is not stored in "
                "proportion, so that no points can be put in where that bends"
            )
        return made

    return Link(found.name, None, own.unit, own.reads, of)


def through(
    axes: Sequence[ParameterAxis | Link],
    parameter: str,
    values: FloatArray,
    words: tuple[str, ...] | None,
) -> tuple[tuple[ParameterAxis, ...], FloatArray, tuple[str, ...]]:
    """The axes that a parameter has over what is really read, its values over them, and what to
    tell. NotRepresentedError where points would have to be put in between words."""
    made: list[ParameterAxis] = []
    notes: list[str] = []
    for index, axis in enumerate(axes):
        if isinstance(axis, ParameterAxis):
            made.append(axis)
            continue
        if words is not None:
            raise NotRepresentedError("it holds words over an axis that is reached through another")
        size = values.shape[index]
        way = axis.line(size)
        made.append(ParameterAxis(way.points, axis.unit, axis.reads))
        values = laid(values, index, way.places)
        notes += _told(parameter, AXES[index], way, size, axis.name)
    return tuple(made), values, tuple(notes)
