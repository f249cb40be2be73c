"""ASAM CDF 2.0 in and out: as published, safe against strangers, and there and back again.

The shape of what is written follows the element order of the document type that ASAM published
with CDF 2.0.0; a sample of our own output was valid against it when this was written.
"""

from collections.abc import Iterator
from pathlib import Path
from typing import Any
from xml.etree.ElementTree import Element

import numpy as np
import pytest
from hypothesis import given, settings
from lxml import etree

from tests.strategies import calibrations
from tuneledger.calibrations import open_calibration
from tuneledger.calibrations.asam.cdf.read import Instances, read_instances
from tuneledger.calibrations.asam.cdf.write import as_cdf
from tuneledger.calibrations.asam.files import open_store, sort_files
from tuneledger.calibrations.asam.mapping.back import parameters_of
from tuneledger.calibrations.asam.mapping.choose import choose
from tuneledger.calibrations.asam.parameter import NotRepresentedError
from tuneledger.calibrations.model import Calibration
from tuneledger.calibrations.paths import as_raw
from tuneledger.calibrations.text import parse
from tuneledger.errors import CalibrationError
from tuneledger.signals import SIGNALS

ROOT = Path(__file__).parents[3]
HEAD = """<?xml version="1.0" encoding="ISO-8859-1"?>
<!DOCTYPE MSRSW PUBLIC "-//ASAM//DTD CALIBRATION DATA FORMAT:V2.0.0:LAI:IAI:XML:CDF200.XSD//EN"
 "cdf_v2.0.0.sl.dtd">
"""


def file(*instances: str, head: str = HEAD) -> bytes:
    inside = "".join(f"<SW-INSTANCE>{one}</SW-INSTANCE>" for one in instances)
    return (
        f"{head}<MSRSW><CATEGORY>CDF20</CATEGORY><SW-SYSTEMS><SW-SYSTEM><SHORT-NAME>s</SHORT-NAME>"
        f"<SW-INSTANCE-SPEC><SW-INSTANCE-TREE><SHORT-NAME>t</SHORT-NAME>{inside}</SW-INSTANCE-TREE>"
        "</SW-INSTANCE-SPEC></SW-SYSTEM></SW-SYSTEMS></MSRSW>"
    ).encode("latin-1")


def variant(inside: str) -> str:
    return (
        "<SW-INSTANCE-PROPS-VARIANTS><SW-INSTANCE-PROPS-VARIANT>"
        f"{inside}</SW-INSTANCE-PROPS-VARIANT></SW-INSTANCE-PROPS-VARIANTS>"
    )


def v(*numbers: object) -> str:
    return "".join(f"<V>{one}</V>" for one in numbers)


def store(*instances: str) -> Instances:
    return read_instances(file(*instances), "a.cdfx")


# --- as published: parts of the example data set CDF20demo of ASAM CDF 2.0.0 ----------------------

BLOCK = (
    "<SHORT-NAME>CDF20.MATRIX_DIM.N341_wS8</SHORT-NAME><CATEGORY>VALUE_ARRAY</CATEGORY>"
    + variant(
        "<SW-VALUE-CONT><UNIT-DISPLAY-NAME></UNIT-DISPLAY-NAME>"
        "<SW-ARRAYSIZE><V>3</V><V>4</V></SW-ARRAYSIZE><SW-VALUES-PHYS>"
        f"<VG><LABEL></LABEL>{v(0.0976592303231910, 0.1953184606463820, 0.3051850947599719)}</VG>"
        f"<VG><LABEL></LABEL>{v(0.4028443250831629, 0.5005035554063539, 0.5981627857295450)}</VG>"
        f"<VG><LABEL></LABEL>{v(0.6958220160527360, 0.8056886501663259, 0.9033478804895169)}</VG>"
        f"<VG><LABEL></LABEL>{v(1.0010071108127079, 1.0986663411358988, 1.1963255714590899)}</VG>"
        "</SW-VALUES-PHYS></SW-VALUE-CONT>"
    )
)
CURVE = "<SHORT-NAME>CDF20.curve.GKL_xCOM_wU16</SHORT-NAME><CATEGORY>CURVE</CATEGORY>" + variant(
    "<SW-VALUE-CONT><UNIT-DISPLAY-NAME>grad C</UNIT-DISPLAY-NAME><SW-VALUES-PHYS>"
    f"{v(0.1287, 0.1326, 0.1365, 0.1404, 0.1443)}</SW-VALUES-PHYS></SW-VALUE-CONT>"
    "<SW-AXIS-CONTS><SW-AXIS-CONT><CATEGORY>COM_AXIS</CATEGORY>"
    "<SW-INSTANCE-REF>CDF20.axis.X_AXIS_xU16</SW-INSTANCE-REF></SW-AXIS-CONT></SW-AXIS-CONTS>"
)
AXIS = "<SHORT-NAME>CDF20.axis.X_AXIS_xU16</SHORT-NAME><CATEGORY>COM_AXIS</CATEGORY>" + variant(
    "<SW-VALUE-CONT><UNIT-DISPLAY-NAME>°C</UNIT-DISPLAY-NAME><SW-VALUES-PHYS>"
    f"{v(2, 5, 6, 14, 16)}</SW-VALUES-PHYS></SW-VALUE-CONT>"
)
SWITCH = "<SHORT-NAME>CDF20.BOOLEAN.FW_wU8</SHORT-NAME><CATEGORY>BOOLEAN</CATEGORY>" + variant(
    "<SW-VALUE-CONT><SW-VALUES-PHYS><VT>true</VT></SW-VALUES-PHYS></SW-VALUE-CONT>"
)
RESCALED = (
    "<SHORT-NAME>CDF20.curve.KL_xRESs8_wS16</SHORT-NAME><CATEGORY>CURVE</CATEGORY>"
    + variant(
        f"<SW-VALUE-CONT><SW-VALUES-PHYS>{v(0, 0.0195)}</SW-VALUES-PHYS></SW-VALUE-CONT>"
        "<SW-AXIS-CONTS><SW-AXIS-CONT><CATEGORY>RES_AXIS</CATEGORY><SW-INSTANCE-REF>CDF20.axis."
        "X_RE_AXIS_xS8</SW-INSTANCE-REF></SW-AXIS-CONT></SW-AXIS-CONTS>"
    )
)


def test_the_published_instances_are_read() -> None:
    found = store(BLOCK, CURVE, AXIS, SWITCH, RESCALED)
    block = found.get("CDF20.MATRIX_DIM.N341_wS8").values
    assert block.shape == (3, 4)  # three along x, as SW-ARRAYSIZE tells
    assert block[:, 1].tolist() == [0.4028443250831629, 0.5005035554063539, 0.5981627857295450]
    curve = found.get("CDF20.curve.GKL_xCOM_wU16")
    assert curve.axes[0].points is not None
    assert curve.axes[0].points.tolist() == [2, 5, 6, 14, 16]
    assert (curve.unit, curve.axes[0].unit) == ("grad C", "°C")
    assert found.get("CDF20.BOOLEAN.FW_wU8").values == 1
    lost = {entry.name: entry.lost for entry in found.entries() if entry.lost}
    rescaled = (
        "it has a rescale axis (RES_AXIS), which is not read from CDF; the description (A2L) with "
        "its image gives it"
    )
    assert lost == {"CDF20.curve.KL_xRESs8_wS16": rescaled}


# --- what is not represented ----------------------------------------------------------------------


def value(inside: str, category: str = "VALUE") -> str:
    return (
        f"<SHORT-NAME>P</SHORT-NAME><CATEGORY>{category}</CATEGORY><SW-VALUE-CONT>"
        f"<SW-VALUES-PHYS>{inside}</SW-VALUES-PHYS></SW-VALUE-CONT>"
    )


@pytest.mark.parametrize(
    ("inside", "says"),
    [
        (value(v("nan")), '"nan" as a value'),
        (value(v("1_0")), '"1_0" as a value'),
        (value(""), "it holds no values"),
        (value(v(1, 2)), "it is a VALUE and its values have 1 dimensions"),
        (value(f"<VG>{v(1, 2)}</VG><VG>{v(1)}</VG>", "MAP"), "its rows differ in length"),
        (value(f"<VG>{v(1)}</VG>{v(1)}", "MAP"), "values stand beside groups"),
        (value(f"<VG><VG>{v(1)}</VG></VG>", "MAP"), "it is a MAP and its values have 3 dimensions"),
        (value(f"<VG><VG><VG>{v(1)}</VG></VG></VG>", "CUBOID"), "nest more than 3 deep"),
        (value(f"<VG>{v(1, 2)}</VG><VG><VG>{v(1, 2)}</VG></VG>", "MAP"), "its rows differ"),
        (value(v(1, 2), "CURVE"), "it has 0 axes"),
        (value(v(1), "CUBE_4"), "it has 4 axes"),
        (value(v(1), "CUBE_5"), "it has 5 axes"),
        (value(v(1), "CUBOID"), "it is a CUBOID and its values have 0 dimensions"),
        (value(v(1), "STRUCTURE"), 'its category is "STRUCTURE"'),
        ("<SHORT-NAME>P</SHORT-NAME><CATEGORY>VALUE</CATEGORY>", "it holds no values"),
    ],
)
def test_what_is_not_represented_is_said_with_the_reason(inside: str, says: str) -> None:
    with pytest.raises(NotRepresentedError, match=says):
        store(inside).get("P")


def test_an_instance_of_several_variants_is_not_guessed() -> None:
    one = value(v(1)).partition("</CATEGORY>")[2]
    twice = variant(one).replace(
        "</SW-INSTANCE-PROPS-VARIANTS>",
        f"<SW-INSTANCE-PROPS-VARIANT>{one}</SW-INSTANCE-PROPS-VARIANT></SW-INSTANCE-PROPS-VARIANTS>",
    )
    with pytest.raises(NotRepresentedError, match="2 variants"):
        store(f"<SHORT-NAME>P</SHORT-NAME><CATEGORY>VALUE</CATEGORY>{twice}").get("P")


def test_instances_in_instances_are_named_by_both() -> None:
    inner = f"<SW-INSTANCE>{value(v(3))}</SW-INSTANCE>"
    item = value(v(4)).replace("<SHORT-NAME>P</SHORT-NAME>", "<SW-ARRAY-INDEX>1</SW-ARRAY-INDEX>")
    outer = f"<SHORT-NAME>A</SHORT-NAME>{inner}<SW-INSTANCE>{item}</SW-INSTANCE>"
    found = store(outer)
    assert found.names == ("A", "A.P", "A[1]")
    assert found.get("A[1]").values == 4


# --- files from strangers -------------------------------------------------------------------------

BOMB = "".join(f'<!ENTITY e{n + 1} "{f"&e{n};" * 10}">' for n in range(9))


@pytest.mark.parametrize(
    "head",
    [
        f'<!DOCTYPE MSRSW [<!ENTITY e0 "ha">{BOMB}]>',
        '<!DOCTYPE MSRSW [<!ENTITY e SYSTEM "file:///etc/hostname">]>',
        '<!DOCTYPE MSRSW [<!ENTITY % e SYSTEM "http://127.0.0.1/x.dtd"> %e;]>',
    ],
)
def test_entities_are_refused_before_they_do_anything(head: str) -> None:
    with pytest.raises(CalibrationError, match="declares entities"):
        read_instances(file(value("<V>&e9;</V>"), head=head), "a.cdfx")


def test_a_document_type_that_is_only_named_is_never_looked_for(tmp_path: Path) -> None:
    head = '<!DOCTYPE MSRSW SYSTEM "http://127.0.0.1:9/never.dtd">'
    assert read_instances(file(value(v(1)), head=head), "a.cdfx").get("P").values == 1


@pytest.mark.parametrize(
    ("data", "says"),
    [
        (b"<MSRSW>" + b"<A>" * 200, "nested more than"),
        (file(value(v(1)))[:-40], "not XML from here on"),
        (file(value(v(1))).replace(b"</V>", b"</W>", 1), "not XML from here on"),
        (b'<?xml version="1.0" encoding="none-such"?><MSRSW/>', "a.cdfx"),
        (b"<MSRSW/>", "there is no SW-INSTANCE in it"),
        (b"", "not XML"),
    ],
)
def test_what_is_broken_is_refused_with_its_place(data: bytes, says: str) -> None:
    with pytest.raises(CalibrationError, match=says):
        read_instances(data, "a.cdfx")


# --- there and back -------------------------------------------------------------------------------


def back(going: Any) -> Instances:
    return read_instances(as_cdf(going.parameters.values(), "a sheet").encode(), "a.cdfx")


@settings(deadline=None, max_examples=40)
@given(calibrations(most=3))
def test_what_is_written_is_read_again_number_by_number(calibration: Calibration) -> None:
    going = parameters_of(calibration)
    again = back(going)
    assert set(again.names) == set(going.parameters)
    for name, parameter in going.parameters.items():
        if parameter.text is not None:
            continue
        found = again.get(name)
        assert (found.kind, found.unit.strip()) == (parameter.kind, parameter.unit.strip())
        assert np.array_equal(found.values, parameter.values)
        for axis, other in zip(found.axes, parameter.axes, strict=True):
            assert axis.points is not None
            assert other.points is not None
            assert axis.points.tolist() == other.points.tolist()


def naming(part: Any, place: str) -> Any:
    """A sheet's raw tree as the mapping that names every table and amount by its place."""
    if not isinstance(part, dict):
        return part
    out = {key: naming(value, f"{place}.{key}" if place else key) for key, value in part.items()}
    if "correction" in out:
        out["correction"] = [
            naming(item, f"{place}.correction.{item['id']}") for item in part["correction"]
        ]
    if "amount" in out:
        out["amount"] = {"characteristic": f"{place}.amount"}
    axes = out.get("axes", [])
    if "values" in out:
        names = "zyx"[-len(axes) :]
        out["values"] = {"characteristic": f"{place}.values"}
        out["axes"] = [
            {key: item for key, item in axis.items() if key != "at"} | {"axis": name}
            for axis, name in zip(axes, names, strict=True)
        ]
    return out


@settings(deadline=None, max_examples=40)
@given(calibrations(most=3))
def test_a_sheet_that_went_out_comes_back_by_a_mapping(calibration: Calibration) -> None:
    going = parameters_of(calibration)
    if any("cells that are not known" in one for one in going.lost) or _since(as_raw(calibration)):
        return  # what is lost is said; an axis in seconds since has no unit to come back by
    mapping = naming(as_raw(calibration), "")
    found = choose(mapping, back(going), "mapping").calibration
    assert with_units(as_raw(found)) == with_units(as_raw(calibration))


def with_units(part: Any) -> Any:
    """A raw sheet with the unit of every axis written out, as the file has it."""
    if isinstance(part, list):
        return [with_units(item) for item in part]
    if not isinstance(part, dict):
        return part
    signal = SIGNALS.get(str(part.get("signal")))
    unit = {"unit": signal.unit} if signal and signal.unit and "over" not in part else {}
    own = unit if "at" in part else {}
    return own | {key: with_units(item) for key, item in part.items()}


def _since(part: Any) -> bool:
    if isinstance(part, dict):
        return "since" in part or any(map(_since, part.values()))
    return isinstance(part, list) and any(map(_since, part))


def test_what_has_no_place_is_left_out_and_named() -> None:
    text = (ROOT / "demo" / "rev-d.toml").read_text(encoding="utf-8")
    raw = parse(text.replace("[13.0, 18.0,", '["?", 18.0,'))
    from tuneledger.calibrations.check import check

    going = parameters_of(check(raw))
    assert going.lost == ['spark.map.values: it has cells that are not known ("?")']
    assert "spark.map.values" not in going.parameters
    assert "spark.correction.oil-guard.when[0].held" in going.parameters


ORDER = {
    "MSRSW": ["SHORT-NAME", "CATEGORY", "SW-SYSTEMS"],
    "SW-SYSTEM": ["SHORT-NAME", "SW-INSTANCE-SPEC"],
    "SW-INSTANCE": ["SHORT-NAME", "LONG-NAME", "CATEGORY", "SW-VALUE-CONT", "SW-AXIS-CONTS"],
    "SW-VALUE-CONT": ["UNIT-DISPLAY-NAME", "SW-ARRAYSIZE", "SW-VALUES-PHYS"],
    "SW-AXIS-CONT": ["CATEGORY", "UNIT-DISPLAY-NAME", "SW-VALUES-PHYS"],
    "VG": ["LABEL", "V"],
}
"""Element order by the document type of ASAM CDF 2.0.0, as far as it is written here."""


def test_what_is_written_keeps_the_order_of_the_standard() -> None:
    going = parameters_of(open_calibration(ROOT / "demo" / "rev-d.toml"))
    root = etree.fromstring(as_cdf(going.parameters.values(), "Kestrel").encode())
    for element in _all(root):
        order = ORDER.get(str(element.tag))
        if order is not None:
            places = [order.index(str(child.tag)) for child in element]
            assert places == sorted(places)


def _all(root: Any) -> Iterator[Element]:
    return iter(root.iter())


# --- the commands ---------------------------------------------------------------------------------


def test_kestrel_goes_out_under_the_names_of_its_control_unit_and_back(tmp_path: Path) -> None:
    mapping = ROOT / "demo" / "described" / "mapping.toml"
    from tuneledger.cli.sheet import command

    sheet, out, again = ROOT / "demo" / "rev-d.toml", tmp_path / "d.cdfx", tmp_path / "again.toml"

    def run(*arguments: object) -> None:
        assert not command.main(list(map(str, arguments)), standalone_mode=False)

    run("to", sheet, out, "--mapping", mapping)
    assert "ADV_BASE" in open_store(sort_files([out])).names
    run("from", out, mapping, "--out", again)
    assert open_calibration(again) == open_calibration(sheet)
