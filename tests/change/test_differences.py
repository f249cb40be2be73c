"""Two revisions side by side."""

from typing import Any

from tests.runs import charge_air, sheet
from tuneledger.calibrations.model import Calibration
from tuneledger.calibrations.paths import put_all
from tuneledger.change.differences import differences, remarks
from tuneledger.change.edits import Change

RAIN: dict[str, Any] = {
    "id": "rain",
    "amount": -4.0,
    "when": [{"channel": "Rain", "is": "on"}],
}


def revision(name: str, *corrections: dict[str, Any]) -> Calibration:
    return sheet(f"rev-{name}.toml", name, corrections).calibration


def test_a_sheet_does_not_differ_from_itself() -> None:
    one = revision("D", charge_air((0.0, 0.0, -3.0, -6.0)), RAIN)
    assert differences(one, one) == ()


def test_tables_are_told_cell_by_cell_and_corrections_by_id() -> None:
    old = revision("C", charge_air((0.0, 0.0, -3.0, -6.0)), RAIN)
    new = revision("D", RAIN | {"enabled": False}, charge_air((0.0, 0.0, -1.0, -6.0)))
    assert differences(old, new) == (
        Change("spark.correction.charge-air.values[2]", -3.0, -1.0),
        Change("spark.correction.rain.enabled", True, False),
        Change("spark.correction", ["charge-air", "rain"], ["rain", "charge-air"]),
    )


def test_what_only_people_read_is_told_apart() -> None:
    old, new = revision("C", RAIN), revision("D", RAIN | {"title": "Wet", "expected": "in rain"})
    assert differences(old, new) == ()
    assert [change.place for change in remarks(old, new)] == [
        "revision",
        "spark.correction.rain.title",
        "spark.correction.rain.expected",
    ]


def test_a_correction_that_comes_or_goes_is_told_whole() -> None:
    old, new = revision("C", RAIN | {"id": "hot.air"}), revision("D", RAIN)
    gone, came = differences(old, new)
    assert (gone.place, gone.after) == ('spark.correction."hot.air"', None)
    assert (came.place, came.before) == ("spark.correction.rain", None)
    assert came.after["amount"] == -4.0


def test_the_differences_put_into_the_old_sheet_make_the_new_one() -> None:
    old = revision("C", charge_air((0.0, 0.0, -3.0, -6.0)), RAIN)
    new = revision("C", charge_air((0.0, -1.0, -1.5, -2.0)), RAIN | {"amount": -2.5, "ramp": 20.0})
    limits = new.spark.limits.model_copy(update={"highest": 33.0})  # type: ignore[union-attr]
    spark = new.spark.model_copy(update={"limits": limits})
    new = new.model_copy(update={"spark": spark})
    edits = [(change.place, change.after) for change in differences(old, new)]
    assert put_all(old, edits) == new
