"""The same path leads to the same place in a fault, a look, an edit and an order."""

from datetime import date
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings

from tests.calibrations.sheets import MAP, RPM, TOP, faults_of, sheet_of, with_corrections
from tests.strategies import calibrations
from tuneledger.calibrations.model import Calibration, Correction, Limits
from tuneledger.calibrations.paths import get, normal, places, put, put_all
from tuneledger.errors import SheetError

SHEET = sheet_of(
    with_corrections(
        f'id = "charge-air"\naxes = [{{{RPM}, at = [20, 40, 60]}}]\nvalues = [0, -2, -5]',
        'id = "hot.air"\namount = -1\nwhen = [{channel = "Wet", is = "on"}]',
        'id = "hot"\namount = -2',
    )
)


def refused(path: str, value: Any = None) -> str:
    with pytest.raises(SheetError) as caught:
        put(SHEET, path, value) if value is not None else get(SHEET, path)
    return str(caught.value)


@pytest.mark.parametrize(
    ("path", "value"),
    [
        ("spark.correction[0].axes[0].at[2]", 60.0),
        ("spark.correction.charge-air.axes[0].at[2]", 60.0),
        ('spark.correction."charge-air".values', (0.0, -2.0, -5.0)),
        ("spark.correction.hot.amount", -2.0),
        ("spark.correction.hot.air.amount", -1.0),
        ('spark.correction."hot.air".when[0].is', "on"),
        ("spark.correction.hot.air.when[0].unit", None),
        ("spark.limits.highest", None),
        ("revision", "A"),
        (" spark.complete ", True),
    ],
)
def test_a_path_leads_to_what_stands_there(path: str, value: object) -> None:
    assert get(SHEET, path) == value


def test_a_correction_named_is_a_correction_counted() -> None:
    assert normal(SHEET, "spark.correction.hot.air.when[0].is") == "spark.correction[1].when[0].is"
    assert normal(SHEET, "spark.correction.hot") == "spark.correction[2]"
    assert get(SHEET, "spark.correction.hot") is SHEET.spark.correction[2]


@pytest.mark.parametrize(
    ("path", "says"),
    [
        ("", '"": cannot be read as a place; expected a path such as spark.correction[2].amount'),
        ("spark..map", "cannot be read as a place"),
        ("spark.map[", "cannot be read as a place"),
        (".spark", "cannot be read as a place"),
        ("[0]", "cannot be read as a place"),
        ("spark.mapp", 'spark.mapp: no such key. Did you mean "map"?'),
        ("spark.correction.chargeair.amount", 'no such correction. Did you mean "charge-air"?'),
        ("spark.correction.zzz", "no such correction. There are charge-air, hot.air and hot."),
        ("spark.correction[7].amount", "spark.correction[7]: the list holds 3"),
        ("spark[0]", "spark: is not a list"),
        ("revision.name", "revision: has no keys"),
        ("spark.correction.hot.is_", "no such key"),
    ],
)
def test_a_path_that_leads_nowhere_says_why(path: str, says: str) -> None:
    assert says in refused(path)
    assert refused(path, 1.0)


def test_an_edit_makes_a_new_calibration_and_leaves_the_old_one() -> None:
    after = put(SHEET, "spark.correction.charge-air.values[1]", -3)
    assert get(after, "spark.correction.charge-air.values[1]") == -3.0
    assert get(SHEET, "spark.correction.charge-air.values[1]") == -2.0
    assert after.spark.correction[0].grid.tolist() == [0.0, -3.0, -5.0]


def test_an_edit_that_breaks_the_sheet_is_refused_with_the_fault_at_the_same_path() -> None:
    place = "spark.correction[0].axes[0].at[2]"
    assert refused(place, 40) == f"{place}: 40 does not rise above 40"
    assert "values: 2 values; expected 3" in refused("spark.correction.charge-air.values", [1, 2])
    assert 'hot.air" stands twice' in refused("spark.correction[2].id", "hot.air")
    assert 'unknown key. Did you mean "title"?' in refused("spark.correction[2].titel", "x")


def test_only_the_outcome_of_several_edits_has_to_be_whole() -> None:
    place = "spark.correction.charge-air"
    after = put_all(SHEET, ((f"{place}.axes[0].at", [20, 60]), (f"{place}.values", [0, -4])))
    assert after.spark.correction[0].grid.tolist() == [0.0, -4.0]


def test_what_is_absent_is_made_and_what_is_nothing_is_taken_away() -> None:
    after = put(SHEET, "spark.limits.highest", 30)
    assert after.spark.limits == Limits(highest=30)
    assert put(after, "spark.limits", None) == SHEET
    assert put(after, "spark.limits.lowest", None) == after
    fewer = put_all(SHEET, (("spark.correction.hot", None), ("spark.correction[0]", None)))
    assert [c.id for c in fewer.spark.correction] == ["hot.air"]
    more = put(SHEET, "spark.correction[3]", Correction(id="rain", amount=-4.0))
    assert more.spark.find("rain") == Correction(id="rain", amount=-4.0)


def test_parts_arrays_and_dates_can_be_put() -> None:
    grid = np.array([0.0, -1.5, -3.0])
    assert put(SHEET, "spark.correction[0].values", grid).spark.correction[0].values == (
        0,
        -1.5,
        -3,
    )
    assert put(SHEET, "spark.map.amount", np.float64(3)).spark.map.amount == 3.0
    assert put(SHEET, "saved", date(2026, 5, 3)).saved == date(2026, 5, 3)


@settings(deadline=None, max_examples=25)
@given(calibrations())
def test_every_place_that_is_listed_is_found_and_putting_it_back_changes_nothing(
    calibration: Calibration,
) -> None:
    listed = list(places(calibration))
    assert len({path for path, _ in listed}) == len(listed)
    assert all(get(calibration, path) == value for path, value in listed)
    assert put_all(calibration, listed) == calibration


def test_places_are_the_paths_of_faults() -> None:
    listed = dict(places(SHEET))
    assert listed["spark.correction[0].axes[0].at[1]"] == 40.0
    assert listed["spark.correction[1].when[0].is"] == "on"
    assert "spark.correction[1].when[0].unit" not in listed
    broken = with_corrections(f"axes = [{{{RPM}, at = [20, 40, 40]}}]\nvalues = [0, -2, -5]")
    assert faults_of(broken)[0].split(":")[0] in listed


def test_a_copy_with_another_table_does_not_keep_the_old_numbers() -> None:
    table = sheet_of(TOP + MAP).spark.map
    assert table.grid == 20.0
    assert table.model_copy(update={"amount": 5.0}).grid == 5.0
    assert not table.grid.flags.writeable
