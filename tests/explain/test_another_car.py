"""A sheet that was handed over with the wrong log."""

from dataclasses import replace

import numpy as np
import pytest

from tests.explain.parts import pulling, switched, with_lever
from tests.explain.told import told, told_of
from tests.runs import Run, climb, sheet
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


def another_car_noted(*sheets: SuppliedSheet) -> bool:
    return any("may be of another car" in note for note in told(climb(), *sheets).notes)


def test_a_map_that_is_nowhere_what_was_asked_for_may_be_of_another_car() -> None:
    assert another_car_noted(retarded("far.toml", 4.0, []))


def test_the_cars_own_map_is_not_doubted() -> None:
    assert not another_car_noted(sheet("rev-d.toml", "D"))


def test_a_revision_that_changes_some_cells_is_of_the_same_car() -> None:
    made = sheet("rev-d.toml", "D")
    spark = made.calibration.spark
    rows = spark.map.values or ()
    values = (*rows[:-1], tuple(v - 4.0 for v in rows[-1]))
    other = spark.model_copy(update={"map": spark.map.model_copy(update={"values": values})})
    changed = SuppliedSheet("rev-d.toml", made.calibration.model_copy(update={"spark": other}))
    assert told(climb(), changed).causes
    assert not another_car_noted(changed)


def test_where_another_supplied_map_fits_no_other_car_is_suspected() -> None:
    assert not another_car_noted(retarded("far.toml", 4.0, []), sheet("rev-d.toml", "D"))


def test_a_map_that_cannot_be_computed_is_no_ground_to_refuse_a_sheet() -> None:
    blind = replace(climb(), signals={"throttle position": climb().signals["throttle position"]})
    assert told(blind, sheet("rev-d.toml", "D", ELSEWHERE)).verdict == "agrees"


def test_where_delivered_is_all_there_is_the_log_may_be_wrong_as_well() -> None:
    with pytest.raises(SheetError, match=r"near what this engine used.*tuneledger look"):
        told(climb(), retarded("launch.toml", 12.0, ELSEWHERE), logged=False)


def test_another_cars_sheet_is_the_headline_and_nothing_of_it_is_told_with_confidence() -> None:
    run = with_lever(climb())  # the lever does nothing in this car
    far = retarded("far.toml", 4.0, [switched("wet", -4.0, title="Wet road")])
    statement = told(run, far)
    assert statement.headline.startswith("The map of far.toml is not what was asked for in ")
    assert "may be of another car" in statement.headline
    (wet,) = [cause for cause in statement.causes if cause.correction == "wet"]
    assert wet.certainty <= 0.5


def test_a_danger_stands_before_the_question_whether_the_sheet_is_of_this_car() -> None:
    run = with_lever(climb().post("x", pulling(climb(), 4.0)))
    statement = told(run, retarded("far.toml", 4.0, []))
    assert statement.headline.startswith("Stop: delivered is up to 4.0°")
    assert "The map of far.toml is not what was asked for" in statement.headline


def turning(per_kmh: float) -> Run:
    """The climb in third gear, at so many rpm per km/h."""
    run = climb()
    road = np.round(run.signals["engine speed"] / per_kmh, 1)
    gear = np.full(run.times.shape, 3.0)
    return replace(run, signals=run.signals | {"vehicle speed": road, "gear": gear})


def test_logs_that_look_like_two_cars_raise_the_question_first() -> None:
    statement = told_of([turning(38.0), turning(52.0)], sheet("rev-d.toml", "D"))
    assert statement.headline.startswith("Are these logs of one car?")
    asked = statement.notes[0]
    assert asked.startswith("are run-1.csv and run-2.csv of one car? in gear 3 the engine turns 38")
    assert asked.endswith("rpm per km/h in run-1.csv and 52 in run-2.csv")
    alike = told_of([turning(38.0), turning(39.0)], sheet("rev-d.toml", "D"))
    assert "of one car" not in " ".join((alike.headline, *alike.notes))


def test_where_one_log_of_several_fits_the_map_the_sheet_is_not_doubted() -> None:
    shifted = replace(climb(), scheduled=climb().scheduled + 4.0)
    statement = told_of([climb(), shifted], sheet("rev-d.toml", "D"))
    assert not statement.headline.startswith("The map of")
