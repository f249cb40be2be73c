"""Axes whose points stand in another parameter: COM_AXIS, CURVE_AXIS and RES_AXIS.

ASAM MCD-2 MC 1.6/1.7, from memory and as public sources quote it: the curve that a CURVE_AXIS names
gives the place along the axis, counted from 0. An AXIS_RESCALE holds pairs of an axis point and its
place on a virtual axis, both rising and linear between pairs, and the points of the table stand at
equal distances on it.
"""

from collections.abc import Callable
from dataclasses import replace

import numpy as np

from tuneledger.arrays import FloatArray
from tuneledger.calibrations.asam.a2l.described import AxisSaid, Said
from tuneledger.calibrations.asam.a2l.layouts import NUMBERS, Part
from tuneledger.calibrations.asam.parameter import NotRepresentedError, Parameter, ParameterAxis
from tuneledger.calibrations.asam.through import DEEPEST, Line, Link, bent, in_a_circle, line
from tuneledger.calibrations.tree import quoted

_WANTED = {"COM_AXIS": "axis", "RES_AXIS": "axis", "CURVE_AXIS": "curve"}


def check_lead(axis: AxisSaid, said: Callable[[str], Said], inside: tuple[str, ...]) -> None:
    """Refuse an axis that leads nowhere, or in a circle, as far as a description tells by itself.

    said: what the description says of a parameter, KeyError for none; inside: those that led here
    """
    name = axis.common
    if not name:
        return
    if name in inside or len(inside) > DEEPEST:
        raise in_a_circle(name)
    try:
        other = said(name)
    except KeyError:
        raise NotRepresentedError(f"its axis {quoted(name)} is not in the description") from None
    except NotRepresentedError as problem:
        raise NotRepresentedError(f"its axis {quoted(name)}: {problem}") from None
    if other.kind != _WANTED[axis.kind]:
        raise NotRepresentedError(f"its axis {quoted(name)} is a {other.kind}")
    for led in other.axes:
        check_lead(led, said, (*inside, name))


def common_axis(found: Parameter, unit: str, reads: str) -> ParameterAxis:
    """The points that several parameters share. NotRepresentedError where it is no axis."""
    if found.kind != "axis":
        raise NotRepresentedError(f"its axis {quoted(found.name)} is a {found.kind}")
    return ParameterAxis(found.values, unit or found.unit, reads)


def through_pairs(
    name: str,
    pairs: FloatArray,
    part: Part,
    count: int | None,
    axis: tuple[str, str],
    physical: Callable[[FloatArray], FloatArray],
) -> Link:
    """The axis of a rescale record: `pairs` as stored, point and virtual place by turns.

    axis: its unit, and what it reads. physical: from stored points to physical ones
    """
    points, virtual = pairs[0::2], pairs[1::2]
    if part.told[1:2] != ("INDEX_INCR",):
        raise NotRepresentedError(f"the pairs of {quoted(name)} are stored in falling order")
    if (np.diff(points) <= 0).any() or (np.diff(virtual) <= 0).any():
        raise NotRepresentedError(f"the rescale pairs of {quoted(name)} do not rise")

    def of(size: int) -> Line:
        places = virtual_places(virtual, part.number, size)
        made = bent(Line(points, places), size, name)
        return replace(line(physical(made.points), made.places, name), put_in=made.put_in)

    return Link(name, count, *axis, of)


def virtual_places(virtual: FloatArray, stored_as: str, size: int) -> FloatArray:
    """Places of a table of so many points, from places on the virtual axis.

    Where the last virtual place is the largest number of its kind (0xFF) and one more divides
    evenly, it counts as one more: so does the worked example of the standard.
    """
    if size < 2:
        raise NotRepresentedError("a rescale axis of one point")
    first, last = float(virtual[0]), float(virtual[-1])
    kind = np.dtype(NUMBERS[stored_as])
    steps = size - 1
    ends = kind.kind in "iu" and last == np.iinfo(kind).max
    if ends and (last - first) % steps and not (last + 1 - first) % steps:
        virtual = np.append(virtual[:-1], last + 1)
    return (virtual - first) * steps / (float(virtual[-1]) - first)
