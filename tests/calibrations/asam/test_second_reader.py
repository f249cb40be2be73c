"""Descriptions held against a second, independent reader of ASAM MCD-2 MC (pya2ldb)."""

from importlib.resources import files
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.calibrations.asam import kestrel
from tuneledger.calibrations.asam.a2l.conversions import read_method
from tuneledger.calibrations.asam.a2l.described import characteristic
from tuneledger.calibrations.asam.a2l.description import Description, read_description
from tuneledger.calibrations.asam.a2l.tokens import Page
from tuneledger.calibrations.asam.parameter import NotRepresentedError


def ours(path: Path) -> Description:
    return read_description(Page(path.read_text(encoding="utf-8"), path.name), {})


def theirs(path: Path) -> Any:
    import pya2l

    return pya2l.import_a2l(
        str(path), in_memory=True, loglevel="ERROR", progress_bar=False, encoding="utf-8"
    )


@pytest.fixture(scope="module", params=["published", "kestrel"])
def both(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Any:
    """One description read twice: the example that the reference package carries, and our own."""
    path = tmp_path_factory.mktemp("a2l") / "description.a2l"
    if request.param == "published":
        source = files("pya2l").joinpath("examples/ASAP2_Demo_V161.a2l")
        path.write_bytes(source.read_bytes())
    else:
        path.write_text(kestrel.DESCRIPTION.replace('/include "bus.aml"', ""), encoding="utf-8")
    return ours(path), theirs(path)


def test_both_find_the_same_parameters(both: Any) -> None:
    from pya2l import model

    description, session = both
    found = [*session.query(model.Characteristic).all(), *session.query(model.AxisPts).all()]
    assert sorted(description.blocks) == sorted(one.name for one in found)


def test_both_read_the_same_of_every_characteristic(both: Any) -> None:
    from pya2l import model

    description, session = both
    read = 0
    for other in session.query(model.Characteristic).all():
        block, _ = description.blocks[other.name]
        try:
            said = characteristic(block)
        except NotRepresentedError:
            continue
        assert (said.address, said.layout, said.says) == (
            other.address,
            other.deposit,
            other.longIdentifier,
        )
        assert said.method == other.conversion
        if other.extended_limits is None:
            assert said.limits == (other.lowerLimit, other.upperLimit)
        axes = [(axis.kind, axis.most, axis.method) for axis in said.axes]
        assert axes == [(a.attribute, a.maxAxisPoints, a.conversion) for a in other.axis_descr]
        read += 1
    assert read >= 12


def test_both_read_the_same_of_every_record_layout(both: Any) -> None:
    from pya2l import model

    description, session = both
    module = description.modules[0]
    assert sorted(module.layouts) == sorted(
        one.name for one in session.query(model.RecordLayout).all()
    )
    for other in session.query(model.RecordLayout).all():
        try:
            layout = module.layout(other.name)
        except NotRepresentedError:
            continue
        values, x = layout.part("FNC_VALUES"), layout.part("AXIS_PTS", "x")
        assert (values is None) == (other.fnc_values is None)
        if values is not None:
            fnc = other.fnc_values
            told = (fnc.position, fnc.datatype, fnc.indexMode)
            assert (values.position, values.number, values.told[0]) == told
        if x is not None:
            assert (x.position, x.number) == (other.axis_pts_x.position, other.axis_pts_x.datatype)


NUMBER = st.floats(-1e4, 1e4).filter(lambda n: abs(n) > 1e-2).map(lambda n: float(f"{n:.6g}"))


def method(kind: str, told: str) -> Any:
    text = f"""/begin PROJECT p "" /begin MODULE m ""
    /begin COMPU_METHOD C "" {kind} "%5.2" "" {told} /end COMPU_METHOD
    /begin COMPU_TAB T "" TAB_INTP 4 0 -40 10 0 50 12.5 255 100 /end COMPU_TAB
    /end MODULE /end PROJECT"""
    module = read_description(Page(text, "c.a2l"), {}).modules[0]
    return read_method("C", module.methods, module.tables).convert


RAW = np.array([0.0, 1.0, 17.0, 128.0, 255.0])
EVERYTHING = (-1e30, 1e30)


@settings(deadline=None, max_examples=40)
@given(NUMBER, NUMBER, NUMBER)
def test_a_rational_function_is_turned_round_as_by_the_reference(
    b: float, c: float, f: float
) -> None:
    from pya2l.functions import Coeffs, RatFunc

    found = method("RAT_FUNC", f"COEFFS 0 {b} {c} 0 0 {f}")(RAW, EVERYTHING).numbers
    other = RatFunc(Coeffs(0, b, c, 0, 0, f)).int_to_physical(RAW)
    assert found == pytest.approx(np.asarray(other), rel=1e-9, abs=1e-9)


@settings(deadline=None, max_examples=40)
@given(NUMBER, NUMBER)
def test_a_linear_function_is_as_by_the_reference(a: float, b: float) -> None:
    from pya2l.functions import CoeffsLinear, Linear

    found = method("LINEAR", f"COEFFS_LINEAR {a} {b}")(RAW, EVERYTHING).numbers
    assert found == pytest.approx(Linear(CoeffsLinear(a, b)).int_to_physical(RAW), rel=1e-9)


def test_a_table_between_its_numbers_is_as_by_the_reference() -> None:
    from pya2l.functions import InterpolatedTable

    found = method("TAB_INTP", "COMPU_TAB_REF T")(RAW, EVERYTHING).numbers
    other = InterpolatedTable([(0, -40), (10, 0), (50, 12.5), (255, 100)])
    assert found == pytest.approx([float(other.int_to_physical(one)) for one in RAW.tolist()])


@settings(deadline=None, max_examples=40)
@given(*[NUMBER] * 5, st.floats(1, 50))
def test_a_full_rational_function_gives_back_what_went_in(
    a: float, b: float, c: float, d: float, e: float, x: float
) -> None:
    """Against the forward function of the reference, where it rises over the limits."""
    from pya2l.functions import Coeffs, RatFunc

    a, b, d, e = abs(a), abs(b), abs(d) * 1e-6, abs(e) * 1e-6
    forward = RatFunc(Coeffs(a, b, c, d, e, 1.0)).physical_to_int
    ladder = forward(np.linspace(0, 60, 200))
    if (np.diff(ladder) <= 1e-6 * abs(ladder).max()).any():
        return
    told = " ".join(f"{one:.17g}" for one in (a, b, c, d, e, 1.0))
    convert = method("RAT_FUNC", f"COEFFS {told}")
    found = convert(np.asarray([forward(x)]), (0.0, 60.0)).numbers
    assert found[0] == pytest.approx(x, rel=1e-5)
