"""The instances in a file of ASAM CDF, as parameters."""

from collections.abc import Iterator, Mapping, Sequence
from xml.etree.ElementTree import Element

import numpy as np

from tuneledger.arrays import frozen
from tuneledger.bounded import at_most, how_to_raise
from tuneledger.calibrations.asam.a2l.fields import as_whole
from tuneledger.calibrations.asam.cdf.numbers import Numbers, read_numbers
from tuneledger.calibrations.asam.cdf.xml import parse
from tuneledger.calibrations.asam.limits import MEGABYTE, NAME, NAMES
from tuneledger.calibrations.asam.parameter import (
    Entry,
    Kind,
    NotRepresentedError,
    Parameter,
    ParameterAxis,
)
from tuneledger.calibrations.asam.through import DEEPEST, Link, in_a_circle, through, through_curve
from tuneledger.calibrations.tree import quoted
from tuneledger.errors import CalibrationError, Fault
from tuneledger.record import record
from tuneledger.wording import count

KINDS: dict[str, Kind] = {
    "VALUE": "value",
    "BOOLEAN": "value",
    "DEPENDENT_VALUE": "value",
    "CURVE": "curve",
    "CURVE_AXIS": "curve",
    "MAP": "map",
    "CUBOID": "cuboid",
    "COM_AXIS": "axis",
    "VAL_BLK": "block",
    "VALUE_ARRAY": "block",
    "ASCII": "text",
}
_INSTANCE = "SW-INSTANCE"
_DIMENSIONS = {"value": 0, "curve": 1, "axis": 1, "map": 2, "cuboid": 3}
_RESCALED = (
    "it has a rescale axis (RES_AXIS), which is not read from CDF; the description (A2L) with its "
    "image gives it"
)
_NOT_READ = {
    "RES_AXIS": _RESCALED,
    "CUBE_4": "it has 4 axes (CUBE_4); a table of a sheet has at most 3",
    "CUBE_5": "it has 5 axes (CUBE_5); a table of a sheet has at most 3",
}


@record
class Instances:
    """The parameters of a file of ASAM CDF by name."""

    name: str
    elements: Mapping[str, Element]
    twice: frozenset[str]
    notes: tuple[str, ...] = ()
    holds: str = ""

    @property
    def names(self) -> tuple[str, ...]:
        return tuple(self.elements)

    def entries(self) -> Iterator[Entry]:
        for name, element in self.elements.items():
            category = _text(element, "CATEGORY")
            try:
                found = self.get(name)
            except NotRepresentedError as problem:
                says = _text(element, "LONG-NAME")
                yield Entry(name, category.casefold(), "", "", says, str(problem))
            else:
                size = " × ".join(map(str, found.values.shape)) if found.text is None else ""
                yield Entry(name, found.kind, size, found.unit, found.says)

    def get(self, name: str) -> Parameter:
        return self._get(name, ())

    def _get(self, name: str, inside: tuple[str, ...]) -> Parameter:
        """`inside`: the parameters whose axes led here, outermost first."""
        element = self.elements[name]
        if name in self.twice:
            raise NotRepresentedError("it stands in the file more than once")
        category = _text(element, "CATEGORY")
        kind = KINDS.get(category)
        if kind is None:
            raise NotRepresentedError(
                _NOT_READ.get(category, f"its category is {quoted(category)}")
            )
        where, says = self.name, _text(element, "LONG-NAME")
        held = _held(element)
        container = held.find("SW-VALUE-CONT")
        if container is None:
            raise NotRepresentedError("it holds no values")
        numbers = read_numbers(container)
        if category == "BOOLEAN" and np.isfinite(numbers.values).all():
            numbers = Numbers(numbers.values)  # true and false are the numbers that they stand for
        unit = _text(container, "UNIT-DISPLAY-NAME")
        if kind == "text":
            text = "".join(numbers.words or ()).strip()
            return Parameter(name, kind, np.empty(0), says=says, text=text, where=where)
        if kind in ("curve", "axis", "block") and not numbers.values.ndim:
            numbers = Numbers(numbers.values.reshape(1), numbers.words)
        if numbers.values.ndim != _DIMENSIONS.get(kind, numbers.values.ndim):
            found = f"{numbers.values.ndim} dimensions"
            raise NotRepresentedError(f"it is a {category} and its values have {found}")
        read = [self._axis(axis, (*inside, name)) for axis in _axes(held)]
        if kind == "block":
            read = [ParameterAxis(None)] * numbers.values.ndim
        _fitting(kind, numbers, read)
        axes, values, told = through(read, name, numbers.values, numbers.words)
        frozen(values)
        return Parameter(
            name, kind, values, unit, says, axes, numbers.words, where=where, notes=told
        )

    def _axis(self, element: Element, inside: tuple[str, ...]) -> ParameterAxis | Link:
        category = _text(element, "CATEGORY")
        if category == "RES_AXIS":
            raise NotRepresentedError(_RESCALED)
        unit, common = _text(element, "UNIT-DISPLAY-NAME"), _text(element, "SW-INSTANCE-REF")
        if element.find("SW-VALUES-PHYS") is not None:
            numbers = read_numbers(element)
            if numbers.words is not None or numbers.values.ndim > 1:
                raise NotRepresentedError("its axis is no list of numbers")
            points = numbers.values.reshape(-1)
            frozen(points)
            return ParameterAxis(points, unit)
        if not common or common not in self.elements:
            found = (
                f"its axis {quoted(common)} is not in the file" if common else "its axis is empty"
            )
            raise NotRepresentedError(found)
        if common in inside or len(inside) > DEEPEST:
            raise in_a_circle(common)
        if category == "CURVE_AXIS":
            return through_curve(self._get(common, inside), straight=True)
        if _text(self.elements[common], "CATEGORY") != "COM_AXIS":
            raise NotRepresentedError(f"its axis {quoted(common)} is no common axis")
        shared = self._get(common, inside)
        return ParameterAxis(shared.values, unit or shared.unit, common)


def read_instances(data: bytes, name: str) -> Instances:
    """The instances of a file. CalibrationError where it is not CDF, or is not harmless."""
    root = parse(data, name)
    elements: dict[str, Element] = {}
    twice: set[str] = set()
    letters = 0
    for called, element in _named(root):
        letters += len(called)
        if len(called) > at_most(NAME) or letters > at_most(NAMES):
            raise CalibrationError(_overlong(called, name))
        if called in elements:
            twice.add(called)
        elements.setdefault(called, element)
    if not elements:
        fault = Fault("there is no SW-INSTANCE in it", file=name, expected="ASAM CDF 2.x")
        raise CalibrationError(fault)
    return Instances(name, elements, frozenset(twice))


def _overlong(called: str, file: str) -> Fault:
    do = how_to_raise()
    if len(called) > at_most(NAME):
        found = f"a name of {len(called):,} characters, {quoted(called[:40])} …"
        expected = f"at most {at_most(NAME):,}, with what it stands in"
        return Fault(found, file=file, expected=expected, do=do)
    expected = f"at most {at_most(NAMES) // MEGABYTE} million characters of names"
    found = "instances in instances, with too much of names"
    return Fault(found, file=file, expected=expected, do=do)


def _named(root: Element) -> Iterator[tuple[str, Element]]:
    """Every instance with its name; one inside another by both names: `A.B`, `A[0]`."""
    waiting = [
        ("", element)
        for parent in root.iter()
        if parent.tag != _INSTANCE
        for element in parent.findall(_INSTANCE)
    ][::-1]
    while waiting:
        outer, element = waiting.pop()
        index = _text(element, "SW-ARRAY-INDEX")
        own = f"[{index}]" if index else _text(element, "SHORT-NAME")
        name = f"{outer}{own}" if index or not outer else f"{outer}.{own}"
        yield name, element
        waiting += [(name, inside) for inside in element.findall(_INSTANCE)][::-1]


def _held(element: Element) -> Element:
    """What holds values and axes: the instance itself, or its only variant."""
    variants = element.findall("SW-INSTANCE-PROPS-VARIANTS/SW-INSTANCE-PROPS-VARIANT")
    if len(variants) > 1:
        raise NotRepresentedError(f"it has {len(variants)} variants, and which holds is not known")
    return variants[0] if variants else element


def _axes(held: Element) -> list[Element]:
    """The axes, x first: in the order of the file, or by the numbers that they bear."""
    found = held.findall("SW-AXIS-CONTS/SW-AXIS-CONT")
    numbers = [as_whole(_text(one, "SW-AXIS-INDEX")) for one in found]
    told = [number for number in numbers if number is not None]
    if not told:
        return found
    if len(set(told)) < len(found):
        raise NotRepresentedError("which of its axes is which is not clear (SW-AXIS-INDEX)")
    return [axis for _, axis in sorted(zip(told, found, strict=True), key=lambda pair: pair[0])]


def _fitting(kind: Kind, numbers: Numbers, axes: Sequence[ParameterAxis | Link]) -> None:
    shape = numbers.values.shape
    if _DIMENSIONS.get(kind) and kind != "axis" and len(axes) != len(shape):
        raise NotRepresentedError(f"it has {count(len(axes), 'axis', 'axes')}")
    for axis, size in zip(axes, shape, strict=False):
        if isinstance(axis, ParameterAxis) and axis.points is not None and len(axis.points) != size:
            raise NotRepresentedError(
                f"it has {size} values along an axis of {len(axis.points)} points"
            )


def _text(element: Element, tag: str) -> str:
    found = element.find(tag)
    return "".join(found.itertext()).strip() if found is not None else ""
