"""The change order: what is on it, and in which order."""

from typing import Any

import numpy as np
import pytest

from tests.change.orders import EASED, EDIT, hot, one_sheet, ordered
from tests.explain.parts import (
    AIR,
    AT,
    DEG,
    oil_guard,
    pulling,
    switched,
    with_lever,
    with_low_oil,
)
from tests.explain.told import told, told_of
from tests.runs import along, charge_air, climb, sheet
from tuneledger.change.differences import differences
from tuneledger.change.order import Order, order_of
from tuneledger.change.order_out import as_json, as_text
from tuneledger.pages.order import order_page


def test_each_edit_stands_with_before_and_after_and_in_words() -> None:
    made = ordered(one_sheet(), EDIT)
    (line,) = made.edits
    assert (line.before, line.after) == (-3.0, -1.0)
    assert line.what == "Hot charge air (charge-air) at 60 °C"
    assert made.besides == ()
    assert made.exit_status == 1


def test_the_steps_stand_in_their_order() -> None:
    told_ = " ".join(ordered(one_sheet(), EDIT).steps)
    words = [
        *("Save what is in the car", "Enter each edit", "old values into the notes"),
        *("new revision name: 'E'", "Load it", "power off and on", "Read the ECU back"),
    ]
    places = [told_.index(word) for word in words]
    assert places == sorted(places)


def test_a_name_that_is_taken_is_not_used_again() -> None:
    made = ordered(one_sheet(), EDIT, revision="D")
    assert any("one of its own, not 'D' again" in step for step in made.steps)


def test_of_a_correction_that_protects_it_is_asked_first_why_it_acted() -> None:
    made = ordered(one_sheet(), EDIT)
    (question,) = made.questions
    assert "Hot charge air protects the engine (air temperature)" in question
    assert "Why?" in question
    text = as_text(made)
    assert text.index("First ask") < text.index("Edit\n")
    page = order_page(made)
    assert page.index("Answer first") < page.index("Edits")


@pytest.mark.parametrize(
    "edit",
    [
        ("spark.correction.charge-air.values[2]", -5.0),
        ("spark.correction.charge-air.title", "Hot air, hotter"),
        ("spark.limits.highest", 36.0),
    ],
)
def test_nothing_is_asked_of_a_correction_that_protects_and_is_not_eased(edit: Any) -> None:
    assert ordered(one_sheet(), edit).questions == ()


@pytest.mark.parametrize(
    "edit",
    [
        ("spark.correction.charge-air.enabled", False),
        ("spark.correction.charge-air.axes[0].at", [30, 50, 70, 90]),
        ("spark.correction.charge-air.when", [{"channel": "Lever", "is": "on"}]),
    ],
)
def test_switched_off_or_acting_otherwise_is_eased(edit: Any) -> None:
    (question,) = ordered(one_sheet(), edit).questions
    assert "Why?" in question


def test_what_did_not_act_is_not_asked_why_it_acted() -> None:
    quiet = told(climb(), sheet("rev-d.toml", "D", [charge_air((0.0, 0.0, 0.0, -6.0))]))
    (question,) = ordered(quiet, ("spark.correction.charge-air.values[3]", -2.0)).questions
    assert "it did not act in these logs" in question
    assert "Why?" not in question


def test_an_existing_revision_is_loaded_as_it_is_and_keeps_its_name() -> None:
    statement = one_sheet()
    b = sheet("rev-b.toml", "B", [charge_air(EASED)]).calibration
    made = order_of(statement, b, differences(statement.sheets[0].calibration, b), stands=True)
    assert made.headline.startswith("Change order: revision B in place of D, 2 edits")
    steps = " ".join(made.steps)
    assert "Take the file of revision B as it is" in steps
    assert "new revision name" not in steps
    assert "Enter each edit" not in steps
    assert "to load: B" in order_page(made)


def test_the_edits_start_from_the_revision_in_the_car_whichever_sheet_came_first() -> None:
    newer = sheet("rev-d.toml", "D", [charge_air(EASED)])
    older = sheet("rev-c.toml", "C", [charge_air(DEG)])
    made = ordered(told(hot(climb()), newer, older), ("spark.limits.highest", 36.0))
    assert as_json(made)["revision"] == {
        "in_car": "C",
        "edited_from": "C",
        "first_sheet": "D",
        "to": "E",
        "file": "rev-d.toml",
    }


def test_the_file_to_edit_is_named_where_another_revision_is_in_the_car() -> None:
    newer = sheet("rev-d.toml", "D", [charge_air(EASED)])
    older = sheet("rev-c.toml", "C", [charge_air(DEG)])
    made = ordered(told(hot(climb()), newer, older), ("spark.limits.highest", 36.0))
    assert "1 edit of revision C, to enter in revision D (rev-d.toml)" in made.headline
    named = "Open rev-d.toml, not the file of the car. Enter each edit: the value after."
    assert named in " ".join(made.steps)
    assert named in " ".join(as_text(made).split())
    assert named in order_page(made)


def test_the_file_to_edit_is_named_where_it_is_the_one_in_the_car() -> None:
    made = ordered(one_sheet(), EDIT)
    assert "Open rev-d.toml. Enter each edit. Where the value before is not" in " ".join(made.steps)


def before_it(made: Order) -> Any:
    """What stands in the car where the charge-air retard is edited."""
    return next(one.before for one in made.edits if "charge-air" in one.place)


def test_of_two_sheets_with_one_name_the_one_in_the_car_is_told_by_its_file() -> None:
    first = sheet("rev-d.toml", "D", [charge_air(EASED)])
    edited_in_the_car = sheet("rev-d-again.toml", "D", [charge_air(DEG)])
    made = ordered(told(hot(climb()), first, edited_in_the_car), EDIT)
    assert before_it(made) == DEG[2]
    assert any("charge-air" in one.place for one in made.besides)
    assert "Compare it with revision D (rev-d-again.toml)." in " ".join(made.steps)


def test_where_the_revision_changed_on_the_way_the_last_one_is_in_the_car() -> None:
    """However long another one ran before: it is the last one that an edit is entered into."""
    old, new = (
        sheet("rev-c.toml", "C", [charge_air(EASED)]),
        sheet("d.toml", "D", [charge_air(DEG)]),
    )
    like_c = climb().post("charge-air", along(climb(), AIR, AT, EASED))
    for runs, in_car in (([like_c, like_c, hot(climb())], DEG), ([hot(climb()), like_c], EASED)):
        made = ordered(told_of(runs, old, new), (EDIT[0], -0.5))
        assert before_it(made) == in_car[2]


def test_of_a_switch_nothing_is_asked() -> None:
    run = with_lever(climb()).post("lever", pulling(climb(), -4.0))
    lever = switched("lever", -4.0, reason="driver switch")
    statement = told(run, sheet("rev-d.toml", "D", [lever]))
    assert ordered(statement, ("spark.correction.lever.amount", -2.0)).questions == ()


def test_everything_else_that_loading_switches_on_is_listed_visited_or_not() -> None:
    """The car runs C; D, which is edited, differs in a switch that was never touched."""
    pit = switched("pit", -9.0, when=[{"channel": "Pit", "is": "on"}])
    run = hot(climb()).carry("Pit", np.zeros(climb().times.shape))
    newer = sheet("rev-d.toml", "D", [charge_air(EASED), pit])
    older = sheet("rev-c.toml", "C", [charge_air(DEG), pit | {"enabled": False}])
    made = ordered(told(run, newer, older), ("spark.limits.highest", 36.0))
    assert made.in_car.calibration.revision == "C"
    assert [line.place for line in made.edits] == ["spark.limits.highest"]
    besides = [line.place for line in made.besides]
    wanted = differences(older.calibration, newer.calibration)
    assert besides == [change.place for change in wanted]
    assert "spark.correction.pit.enabled" in besides
    assert "loading the file changes them too" in " ".join(made.steps)


def test_what_was_asked_for_by_its_number_is_the_same_as_by_its_id() -> None:
    made = ordered(one_sheet(), ("spark.correction[0].values", list(EASED)))
    assert [line.place for line in made.edits] == [
        "spark.correction.charge-air.values[2]",
        "spark.correction.charge-air.values[3]",
    ]
    assert made.besides == ()


def test_the_next_log_carries_what_the_edit_reads() -> None:
    made = ordered(one_sheet(switched("pit", -9.0, when=[{"channel": "Pit", "is": "on"}])),
                   EDIT, ("spark.correction.pit.amount", -5.0))  # fmt: skip
    assert "Adv given (delivered advance)" in made.to_log
    assert "Air in (intake air temperature)" in made.to_log
    assert "Pit, which this log lacks" in made.to_log


def test_the_drive_is_as_mild_as_shows_it_and_nobody_works_a_computer_at_the_wheel() -> None:
    made = ordered(one_sheet(), EDIT)
    text = " ".join(made.drive)
    assert "intake air temperature from 20 to 80 °C" in text
    assert "lowest load" in text
    assert "Let somebody else work the logger" in text
    assert "full throttle for" not in text


@pytest.mark.parametrize("edit", [("amount", -9.0), ("enabled", False)])
def test_nobody_is_told_to_bring_about_what_a_guard_protects_from(edit: Any) -> None:
    guard = oil_guard(-8.0)
    statement = one_sheet(
        guard, run=with_low_oil(hot(climb())).post("oil-guard", pulling(climb(), -8.0))
    )
    made = ordered(statement, (f"spark.correction.oil-guard.{edit[0]}", edit[1]))
    (told_of_it,) = [text for text in made.drive if "Oil guard" in text]
    assert told_of_it.startswith("Oil guard (sensor guard; Oil gallery below 200")
    assert "protects the engine" in told_of_it
    assert "do not bring about what it acts on" in told_of_it
    assert "reading the ECU back" in told_of_it


def test_nobody_is_told_to_rev_into_the_limit() -> None:
    limit = {
        "id": "top",
        "reason": "rev limit",
        "amount": -15.0,
        "when": [{"signal": "engine speed", "unit": "rpm", "above": 7650.0}],
    }
    made = ordered(one_sheet(limit), ("spark.correction.top.amount", -20.0))
    (told_of_it,) = [text for text in made.drive if "7650" in text]
    assert "do not bring about what it acts on" in told_of_it


def test_what_protects_nothing_is_driven_where_it_acts() -> None:
    run = with_lever(hot(climb())).post("lever", pulling(climb(), -4.0))
    made = ordered(
        one_sheet(switched("lever", -4.0), run=run), ("spark.correction.lever.amount", -5.0)
    )
    assert any(text.startswith("Lever acts: Lever") for text in made.drive)
    assert "for this alone" not in " ".join(made.drive)


@pytest.mark.parametrize("name", ["Launch button", "Lachgasventil", "ブレーキスイッチ"])
def test_nobody_is_sent_to_turn_a_switch_that_may_hurt(name: str) -> None:
    one = {"id": "x", "amount": -4.0, "when": [{"channel": name, "is": "on"}]}
    run = hot(climb()).carry(name, np.zeros(climb().times.shape))
    made = ordered(one_sheet(one, run=run), ("spark.correction.x.amount", -5.0))
    (asked,) = [text for text in made.drive if name in text]
    assert "Nobody brings that about for this alone" in asked


def test_a_cell_of_the_map_is_held_under_load_on_a_dynamometer_only() -> None:
    made = ordered(one_sheet(), ("spark.map.values[4][3]", 16.0))
    (hold,) = [text for text in made.drive if "two seconds" in text]
    assert hold == "Hold each for two seconds, under load on a dynamometer only: 200 kPa, 5000 rpm."


def test_nothing_to_change_is_no_order() -> None:
    made = ordered(one_sheet(), ("spark.correction.charge-air.values[2]", -3.0))
    assert made.exit_status == 0
    assert made.headline.startswith("Nothing to change")
    assert (made.steps, made.to_log, made.drive) == ((), (), ())
    assert "Steps" not in order_page(made)
    assert "Log  " not in as_text(made)


def test_another_sheet_may_bring_a_correction_that_the_one_in_the_car_lacks() -> None:
    statement = one_sheet()
    launch = switched("launch", -9.0, when=[{"channel": "Pit", "is": "on"}])
    new = sheet("rev-e.toml", "E", [charge_air(DEG), launch]).calibration
    made = order_of(statement, new, differences(statement.sheets[0].calibration, new), stands=True)
    assert [line.place for line in made.edits] == ["spark.correction.launch"]
    assert made.besides == ()
