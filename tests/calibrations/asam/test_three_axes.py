"""Tables over three axes: CUBOID in a description and in CDF, into a sheet and back.

Source: ASAM MCD-2 MC 1.7 (a CUBOID is one map after the other, for each z), from memory.
"""

import struct

import numpy as np
import pytest

from tests.calibrations.asam.making import described
from tuneledger.calibrations.asam.cdf.read import read_instances
from tuneledger.calibrations.asam.cdf.write import as_cdf
from tuneledger.calibrations.asam.mapping.back import parameters_of
from tuneledger.calibrations.asam.mapping.choose import choose
from tuneledger.calibrations.asam.parameter import NotRepresentedError, Parameter, Store
from tuneledger.calibrations.text import parse

# cell xyz as a number of three digits: x 1 to 3, y 1 to 2, z 1 to 2
BY_ROWS = [111, 211, 311, 121, 221, 321, 112, 212, 312, 122, 222, 322]
BY_COLUMNS = [111, 121, 211, 221, 311, 321, 112, 122, 212, 222, 312, 322]
AXES = "".join(
    f"/begin AXIS_DESCR FIX_AXIS {name} NO_COMPU_METHOD {size} 0 9999 PHYS_UNIT {unit!r} "
    f"FIX_AXIS_PAR_DIST {first} {step} {size} /end AXIS_DESCR ".replace("'", '"')
    for name, size, unit, first, step in [
        ("n", 3, "rpm", 1000, 1000),
        ("load", 2, "%", 20, 60),
        ("gear", 2, "", 1, 1),
    ]
)


def cuboid(direction: str, numbers: list[int]) -> Store:
    text = f"/begin RECORD_LAYOUT L FNC_VALUES 1 UWORD {direction} DIRECT /end RECORD_LAYOUT"
    text += f'/begin CHARACTERISTIC TRIM "" CUBOID 0x100 L 0 NO_COMPU_METHOD 0 999 {AXES}'
    return described(text + " /end CHARACTERISTIC", {0x100: struct.pack("<12H", *numbers)})


@pytest.mark.parametrize(
    ("direction", "numbers"), [("ROW_DIR", BY_ROWS), ("COLUMN_DIR", BY_COLUMNS)]
)
def test_a_cuboid_is_a_map_for_each_z(direction: str, numbers: list[int]) -> None:
    found = cuboid(direction, numbers).get("TRIM")
    assert found.kind == "cuboid"
    assert [[[found.values[x, y, z] for z in (0, 1)] for y in (0, 1)] for x in (0, 1, 2)] == [
        [[100 * x + 10 * y + z for z in (1, 2)] for y in (1, 2)] for x in (1, 2, 3)
    ]
    assert [axis.reads for axis in found.axes] == ["n", "load", "gear"]


def test_a_block_of_three_dimensions_is_read_likewise() -> None:
    text = "/begin RECORD_LAYOUT L FNC_VALUES 1 UWORD ROW_DIR DIRECT /end RECORD_LAYOUT"
    text += '/begin CHARACTERISTIC B "" VAL_BLK 0x100 L 0 NO_COMPU_METHOD 0 999 MATRIX_DIM 3 2 2'
    memory = {0x100: struct.pack("<12H", *BY_ROWS)}
    found = described(text + " /end CHARACTERISTIC", memory).get("B")
    assert found.values[2, 0, 1] == 312


MAPPING = """
format = "tuneledger-calibration/1"
revision = "A"
[spark.map]
axes = [{ signal = "engine speed", unit = "rpm", at = [0, 9000] }]
values = [10.0, 10.0]
[[spark.correction]]
id = "trim"
reason = "other"
axes = [
  { signal = "gear", axis = "z" },
  { signal = "engine speed", axis = "x" },
  { signal = "throttle position", axis = "y" },
]
values = { characteristic = "TRIM", times = -0.01 }
"""


def test_three_axes_come_in_the_order_of_the_sheet() -> None:
    correction = choose(
        parse(MAPPING), cuboid("ROW_DIR", BY_ROWS), "m"
    ).calibration.spark.correction[0]
    assert [axis.at for axis in correction.axes] == [(1, 2), (1000, 2000, 3000), (20, 80)]
    assert np.asarray(correction.values)[1, 2, 0].item() == -3.12  # z 2, x 3, y 1


def test_three_axes_go_out_as_a_cuboid_and_come_back_by_the_mapping() -> None:
    sheet = choose(parse(MAPPING), cuboid("ROW_DIR", BY_ROWS), "m").calibration
    text = as_cdf(parameters_of(sheet, parse(MAPPING)).parameters.values(), "a car")
    assert "<CATEGORY>CUBOID</CATEGORY>" in text
    store = read_instances(text.encode(), "a.cdfx")
    assert store.get("TRIM").values[2, 0, 1] == 312
    assert choose(parse(MAPPING), store, "m").calibration == sheet


def test_without_a_mapping_the_last_axis_of_the_sheet_is_x() -> None:
    sheet = choose(parse(MAPPING), cuboid("ROW_DIR", BY_ROWS), "m").calibration
    going = parameters_of(sheet)
    assert not going.lost
    found: Parameter = going.parameters["spark.correction.trim.values"]
    assert found.values.shape == (2, 3, 2)  # throttle, speed, gear
    assert found.values[0, 2, 1] == -3.12


def v(*numbers: float) -> str:
    return "".join(f"<V>{one}</V>" for one in numbers)


def instance(name: str, category: str, values: str, *axes: str) -> str:
    return (
        f"<SW-INSTANCE><SHORT-NAME>{name}</SHORT-NAME><CATEGORY>{category}</CATEGORY>"
        f"<SW-VALUE-CONT><SW-VALUES-PHYS>{values}</SW-VALUES-PHYS></SW-VALUE-CONT>"
        f"<SW-AXIS-CONTS>{''.join(axes)}</SW-AXIS-CONTS></SW-INSTANCE>"
    )


def own(*points: float, index: int | None = None) -> str:
    told = "" if index is None else f"<SW-AXIS-INDEX>{index}</SW-AXIS-INDEX>"
    inside = f"<SW-VALUES-PHYS>{v(*points)}</SW-VALUES-PHYS>"
    return f"<SW-AXIS-CONT><CATEGORY>STD_AXIS</CATEGORY>{told}{inside}</SW-AXIS-CONT>"


def through(name: str) -> str:
    inside = f"<CATEGORY>CURVE_AXIS</CATEGORY><SW-INSTANCE-REF>{name}</SW-INSTANCE-REF>"
    return f"<SW-AXIS-CONT>{inside}</SW-AXIS-CONT>"


def instances(*inside: str) -> Store:
    tree = f"<SW-INSTANCE-TREE>{''.join(inside)}</SW-INSTANCE-TREE>"
    return read_instances(f"<MSRSW>{tree}</MSRSW>".encode(), "a.cdfx")


def test_the_groups_of_a_cuboid_are_z_then_y_and_its_axes_keep_their_numbers() -> None:
    rows = [BY_ROWS[at : at + 3] for at in range(0, 12, 3)]
    maps = [f"<VG>{v(*one)}</VG><VG>{v(*two)}</VG>" for one, two in (rows[:2], rows[2:])]
    values = f"<VG>{maps[0]}</VG><VG>{maps[1]}</VG>"
    axes = own(1, 2, index=3), own(20, 80, index=2), own(1000, 2000, 3000, index=1)
    found = instances(instance("TRIM", "CUBOID", values, *axes)).get("TRIM")
    assert found.values[2, 0, 1] == 312
    assert [axis.points.tolist() for axis in found.axes if axis.points is not None] == [
        [1000, 2000, 3000],
        [20, 80],
        [1, 2],
    ]


def test_numbers_of_axes_that_are_not_clear_are_refused() -> None:
    twice = instance("C", "MAP", f"<VG>{v(1)}</VG>", own(1, index=1), own(1, index=1))
    with pytest.raises(NotRepresentedError, match="SW-AXIS-INDEX"):
        instances(twice).get("C")


def test_an_axis_of_cdf_may_be_reached_through_a_curve() -> None:
    curve = instance("N", "CURVE_AXIS", v(0, 0.5, 2), own(1000, 2000, 5000))
    found = instances(curve, instance("C", "CURVE", v(10, 20, 40), through("N"))).get("C")
    assert found.axes[0].points is not None
    assert found.axes[0].points.tolist() == [1000, 2000, 3000, 5000]
    assert found.values.tolist() == [10, 15, 20, 40]
    with pytest.raises(NotRepresentedError, match="leads back to itself"):
        instances(instance("C", "CURVE", v(10, 20), through("C"))).get("C")
