"""Parameters as a file of ASAM CDF 2.0."""

from collections.abc import Iterable, Sequence
from xml.etree.ElementTree import Element, SubElement, indent, tostring

from tuneledger.arrays import FloatArray
from tuneledger.calibrations.asam.parameter import Kind, Parameter, ParameterAxis
from tuneledger.wording import visible

HEAD = """<?xml version="1.0" encoding="UTF-8"?>
<!DOCTYPE MSRSW PUBLIC "-//ASAM//DTD CALIBRATION DATA FORMAT:V2.0.0:LAI:IAI:XML:CDF200.XSD//EN" \
"cdf_v2.0.0.sl.dtd">
"""
_CATEGORIES: dict[Kind, str] = {
    "value": "VALUE",
    "curve": "CURVE",
    "map": "MAP",
    "cuboid": "CUBOID",
    "axis": "COM_AXIS",
    "block": "VAL_BLK",
    "text": "ASCII",
}


def as_cdf(parameters: Iterable[Parameter], name: str) -> str:
    """The file's text. A map stands in it as the standard has it: a group of x for each y; of
    three axes, a group of such groups for each z."""
    root = Element("MSRSW")
    _text(root, "SHORT-NAME", name)
    _text(root, "CATEGORY", "CDF20")
    system = SubElement(SubElement(root, "SW-SYSTEMS"), "SW-SYSTEM")
    _text(system, "SHORT-NAME", name)
    tree = SubElement(SubElement(system, "SW-INSTANCE-SPEC"), "SW-INSTANCE-TREE")
    _text(tree, "SHORT-NAME", name)
    _text(tree, "CATEGORY", "NO_VCD")
    for parameter in parameters:
        _instance(tree, parameter)
    indent(root)
    return HEAD + tostring(root, encoding="unicode") + "\n"


def _instance(tree: Element, parameter: Parameter) -> None:
    instance = SubElement(tree, "SW-INSTANCE")
    _text(instance, "SHORT-NAME", parameter.name)
    if parameter.says:
        _text(instance, "LONG-NAME", parameter.says)
    _text(instance, "CATEGORY", _CATEGORIES[parameter.kind])
    container = SubElement(instance, "SW-VALUE-CONT")
    _text(container, "UNIT-DISPLAY-NAME", parameter.unit)
    held = SubElement(container, "SW-VALUES-PHYS")
    if parameter.text is not None:
        _text(held, "VT", parameter.text)
    elif parameter.words is not None:
        for word in parameter.words:
            _text(held, "VT", word)
    elif parameter.values.ndim > 1:
        _groups(held, parameter.values, [axis.points for axis in parameter.axes])
    else:
        _numbers(held, parameter.values)
    if parameter.axes:
        axes = SubElement(instance, "SW-AXIS-CONTS")
        for axis in parameter.axes:
            _axis(axes, axis)


def _groups(held: Element, values: FloatArray, axes: Sequence[FloatArray | None]) -> None:
    """A group for each point of the last axis, labelled with it; in it the axes before."""
    labels = axes[-1]
    for index in range(values.shape[-1]):
        group = SubElement(held, "VG")
        if labels is not None:
            _text(group, "LABEL", repr(float(labels[index])))
        inside = values[..., index]
        _groups(group, inside, axes[:-1]) if inside.ndim > 1 else _numbers(group, inside)


def _axis(axes: Element, axis: ParameterAxis) -> None:
    container = SubElement(axes, "SW-AXIS-CONT")
    _text(container, "CATEGORY", "STD_AXIS")
    _text(container, "UNIT-DISPLAY-NAME", axis.unit)
    held = SubElement(container, "SW-VALUES-PHYS")
    if axis.points is not None:
        _numbers(held, axis.points)


def _numbers(parent: Element, values: FloatArray) -> None:
    for value in values.reshape(-1).tolist():
        _text(parent, "V", repr(value))


def _text(parent: Element, tag: str, text: str) -> None:
    SubElement(parent, tag).text = visible(text)  # control codes have no place in XML
