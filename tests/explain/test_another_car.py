"""A sheet that was handed over with the wrong log."""

import pytest

from tests.explain.told import told
from tests.runs import climb, sheet
from tuneledger.errors import SheetError
from tuneledger.statement.model import SuppliedSheet

ELSEWHERE = [
    {"id": "bilge", "amount": -4.0, "when": [{"channel": "Bilge pump", "is": "on"}]},
    {"id": "astern", "amount": -6.0, "when": [{"channel": "Astern", "is": "on"}]},
]


def retarded(file: str, by: float, corrections: list[dict[str, object]]) -> SuppliedSheet:
    """A sheet whose whole map lies `by` degrees below this car's."""
    made = sheet(file, "X", corrections)
    spark = made.calibration.spark
    values = tuple(tuple(v - by for v in row) for row in spark.map.values or ())
    other = spark.model_copy(update={"map": spark.map.model_copy(update={"values": values})})
    return SuppliedSheet(file, made.calibration.model_copy(update={"spark": other}))


def test_a_sheet_that_knows_none_of_the_channels_and_another_map_is_refused() -> None:
    with pytest.raises(SheetError, match=r"launch\.toml.*Bilge pump and Astern"):
        told(climb(), retarded("launch.toml", 12.0, ELSEWHERE))


def test_the_cars_own_map_keeps_a_sheet_whose_channels_were_not_logged() -> None:
    assert told(climb(), sheet("rev-d.toml", "D", ELSEWHERE)).verdict == "agrees"


def test_one_channel_that_was_not_logged_makes_no_other_car() -> None:
    assert told(climb(), retarded("far.toml", 12.0, ELSEWHERE[:1])).verdict != "agrees"
