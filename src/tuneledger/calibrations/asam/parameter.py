"""A parameter of a control unit as it stands in a calibration, whatever file it came from."""

from collections.abc import Iterator
from typing import Literal, Protocol

from tuneledger.arrays import FloatArray
from tuneledger.record import record

Kind = Literal["value", "block", "curve", "map", "cuboid", "axis", "text"]
AXES = ("x", "y", "z")


class NotRepresentedError(Exception):
    """Why a parameter has no place in a sheet, as a phrase; or why it cannot be read."""


@record
class ParameterAxis:
    """One axis of a parameter.

    points: where the values stand, in the file's order, which may fall; None where the file has
            none (a block of values has a length and no more)
    reads:  what the control unit calls the quantity; "" where not told
    """

    points: FloatArray | None
    unit: str = ""
    reads: str = ""


@record
class Parameter:
    """Physical values, finite, in `unit`, over the axes.

    values: shape () for a value, (x,) for a curve or axis, (x, y) for a map, (x, y, z) for a
            cuboid, one to three of these for a block
    words:  what the file calls the values, flat in the order of `values`, where it has words
    text:   of a text; its values are empty
    where:  the place in the file or image, for people
    notes:  what is odd about it, as sentences
    """

    name: str
    kind: Kind
    values: FloatArray
    unit: str = ""
    says: str = ""
    axes: tuple[ParameterAxis, ...] = ()
    words: tuple[str, ...] | None = None
    text: str | None = None
    where: str = ""
    notes: tuple[str, ...] = ()


@record
class Entry:
    """A parameter in a list: what it is, without its numbers.

    size: "8 × 7" and the like, x first; "" for a single value or where only the image tells
    lost: why it cannot become part of a sheet; None where it can, as far as is known
    """

    name: str
    kind: str
    size: str
    unit: str
    says: str
    lost: str | None = None


class Store(Protocol):
    """Parameters by name.

    notes: sentences on the files as a whole
    holds: where the bytes of an image are, as a phrase; "" where there is none
    """

    @property
    def notes(self) -> tuple[str, ...]: ...

    @property
    def holds(self) -> str: ...

    @property
    def names(self) -> tuple[str, ...]: ...

    def entries(self) -> Iterator[Entry]:
        """Every parameter, in the order of the file."""

    def get(self, name: str) -> Parameter:
        """One parameter. KeyError where there is none, NotRepresentedError with the reason."""
