"""An order that raises advance says so before all else, and slowly."""

from dataclasses import replace
from html import unescape
from typing import Any

import numpy as np
import pytest

from tests.change.orders import EASED, EDIT, hot, one_sheet, ordered
from tests.explain.parts import DEG
from tests.explain.told import told
from tests.runs import SPEEDS, charge_air, climb, sheet
from tuneledger.calibrations.check import check
from tuneledger.calibrations.paths import as_raw, put, put_all
from tuneledger.change.differences import differences
from tuneledger.change.limits import lifted
from tuneledger.change.order import order_of
from tuneledger.change.order_out import as_json, as_text
from tuneledger.pages.order import order_page
from tuneledger.statement.model import Statement

UNSEEN = ("spark.map.values[4][0]", 36.0)


def test_advance_raised_where_no_log_went_is_said_first_and_everywhere() -> None:
    statement = one_sheet()
    table = statement.sheets[0].calibration.spark.map
    where = f"{table.axes[0].at[4]:.0f} kPa, {table.axes[1].at[0]:.0f} rpm"
    by = f"{UNSEEN[1] - table.grid[4, 0]:.1f}°"
    made = ordered(statement, UNSEEN)
    assert made.exit_status == 1
    assert f"Care: it raises advance by {by} (the main map at {where})" in made.headline
    never = f"Nobody is shown to have driven at: the main map at {where} (+{by})."
    answer = as_json(made)["cautions"]
    assert never in answer
    for told_ in (*[" ".join(as_text(made).split())], unescape(order_page(made))):
        assert by in told_
        assert told_.index("Nobody is shown to have driven") < told_.index("Save what is in the")
        assert "small steps, knock and exhaust temperature watched, on a dynamometer" in told_


def test_a_raise_is_come_up_to_in_small_steps_under_the_eyes_of_someone_qualified() -> None:
    made = ordered(one_sheet(), UNSEEN)
    (between,) = [step for step in made.steps if "sheets in between" in step]
    assert "at most 2.0° above the one before" in between
    assert made.steps.index(between) < next(i for i, s in enumerate(made.steps) if "Load it" in s)
    assert "by someone qualified" in made.drive[0]
    assert "At the first knock" in made.drive[0]
    (hold,) = [text for text in made.drive if "two seconds" in text]
    assert hold.endswith("Come up to it in small steps, not at once.")
    text = as_text(made)
    assert "Drive      1. Advance is raised" in text


def test_a_raise_of_one_small_step_needs_no_sheets_in_between() -> None:
    statement = one_sheet()
    small = float(statement.sheets[0].calibration.spark.map.grid[4, 0]) + 1.0
    made = ordered(statement, (UNSEEN[0], small))
    assert made.care
    assert not any("in between" in step for step in made.steps)


@pytest.mark.parametrize(
    "edit", [("spark.map.values[4][0]", 2.0), ("spark.correction.charge-air.values[2]", -5.0)]
)
def test_less_advance_is_no_raise(edit: Any) -> None:
    made = ordered(one_sheet(), edit)
    assert made.care == ()
    assert "Care" not in as_text(made).replace("Take care", "")


def test_a_retard_that_is_eased_raises_where_it_acts() -> None:
    assert "raises advance by 2.0° (Hot charge air at 60 °C)" in ordered(one_sheet(), EDIT).headline


def test_what_acts_under_other_conditions_may_raise_by_what_nobody_can_say() -> None:
    edit = ("spark.correction.charge-air.when", [{"channel": "Lever", "is": "on"}])
    assert "may raise advance, nobody can say how much" in ordered(one_sheet(), edit).headline


def test_a_map_on_other_points_is_compared_at_the_points_of_both() -> None:
    statement = one_sheet()
    old = statement.sheets[0].calibration
    rpm = old.spark.map.axes[1]
    grid = np.concatenate([old.spark.map.grid, old.spark.map.grid[:, -1:]], axis=1)
    raw = as_raw(old)
    raw["spark"]["map"]["axes"][1]["at"] = [*rpm.at, rpm.at[-1] + 500.0]
    raw["spark"]["map"]["values"] = grid.tolist()
    assert order_of(statement, check(raw), differences(old, check(raw))).care == ()
    raw["spark"]["map"]["values"][0][-1] += 3.0
    new = check(raw)
    made = order_of(statement, new, differences(old, new))
    assert f"raises advance by 3.0° (the main map at {raw_at(new)} rpm)" in made.headline


def raw_at(sheet_: Any) -> str:
    load, rpm = sheet_.spark.map.axes
    return f"{load.at[0]:.0f} kPa, {rpm.at[-1]:.0f}"


def test_a_higher_limit_is_said_with_how_much() -> None:
    statement = one_sheet()
    old = statement.sheets[0].calibration.spark.limits
    assert old is not None
    assert old.highest is not None
    made = ordered(statement, ("spark.limits.highest", old.highest + 20.0))
    assert "Care: it lifts the highest advance allowed by 20.0°" in made.headline


def test_a_raised_lowest_limit_takes_from_every_protection_and_is_asked_about() -> None:
    made = ordered(one_sheet(), ("spark.limits.lowest", 20.0))
    assert "Care: it raises the lowest advance allowed by 28.0° to +20.0°" in made.headline
    (question,) = made.questions
    assert "Hot charge air protects the engine (air temperature)" in question
    assert "the raised lowest limit cancels a part of what it takes" in question
    assert any("sheets in between" in step for step in made.steps)
    assert made.drive[0].startswith("Advance is raised")


def test_a_lowest_limit_where_there_was_none_is_a_raise_of_nobody_knows_how_much() -> None:
    old = one_sheet().sheets[0].calibration
    raw = as_raw(old)
    del raw["spark"]["limits"]["lowest"]
    without, held = check(raw), put(old, "spark.limits.lowest", 5.0)
    assert lifted(without, held).cancels
    assert "sets a lowest advance allowed, +5.0°" in lifted(without, held).says[0]
    assert lifted(without, held).most > 1000.0


def test_a_lowest_limit_that_is_lowered_or_taken_away_is_no_raise() -> None:
    old = one_sheet().sheets[0].calibration
    raw = as_raw(old)
    del raw["spark"]["limits"]["lowest"]
    assert not lifted(old, check(raw)).cancels
    made = ordered(one_sheet(), ("spark.limits.lowest", -15.0))
    assert made.care == ()
    assert made.questions == ()


OIL = {"signal": "oil pressure", "unit": "kPa", "below": 120.0, "held": 0.3}
SPEED = {"signal": "engine speed", "unit": "rpm"}


def oil_guard(*when: dict[str, Any]) -> dict[str, Any]:
    return {
        "id": "oil",
        "title": "Oil guard",
        "reason": "sensor guard",
        "amount": -4.0,
        "when": (OIL, *when),
    }


def asked(statement: Statement, lowest: float) -> list[str]:
    """The corrections that an order with this lowest limit asks about."""
    told = " ".join(ordered(statement, ("spark.limits.lowest", lowest)).questions)
    return [name for name in ("Hot charge air", "Oil guard") if name in told]


def test_a_lowest_limit_that_nothing_can_get_down_to_is_no_raise() -> None:
    """The map's least is 8°, and hot air can take 6° of it."""
    made = ordered(one_sheet(), ("spark.limits.lowest", 1.5))
    assert made.care == ()
    assert made.questions == ()
    assert asked(one_sheet(), 2.5) == ["Hot charge air"]


def test_only_what_can_act_where_the_limit_holds_is_asked_about() -> None:
    """At high speed the map holds more than the guard and the hot air can take together."""
    fast = one_sheet(oil_guard(SPEED | {"above": 5000.0}))
    assert asked(fast, 2.5) == ["Hot charge air"]
    assert asked(one_sheet(oil_guard()), 2.5) == ["Hot charge air", "Oil guard"]


def test_what_acts_between_two_points_of_the_map_is_not_overlooked() -> None:
    """At the points themselves hot air alone acts, which leaves 2°."""
    low, high = SPEEDS[0] + 50.0, SPEEDS[0] + 100.0
    between = oil_guard(SPEED | {"between": (low, high)})
    assert asked(one_sheet(between), 1.5) == ["Hot charge air", "Oil guard"]


def test_of_a_sheet_that_may_lack_corrections_every_protection_is_asked_about() -> None:
    statement = one_sheet(oil_guard(SPEED | {"above": 5000.0}))
    open_ended = put(statement.sheets[0].calibration, "spark.complete", False)
    made = order_of(
        replace(statement, sheets=(replace(statement.sheets[0], calibration=open_ended),)),
        put(open_ended, "spark.limits.lowest", -7.0),
        (),
    )
    assert all(name in " ".join(made.questions) for name in ("Hot charge air", "Oil guard"))


def test_a_protection_that_loading_the_file_eases_beside_the_edit_is_asked_about() -> None:
    newer = sheet("rev-d.toml", "D", [charge_air(EASED)])
    older = sheet("rev-c.toml", "C", [charge_air(DEG)])
    made = ordered(told(hot(climb()), newer, older), ("spark.map.values[0][0]", 9.0))
    assert made.in_car.calibration.revision == "C"
    (question,) = made.questions
    assert question.startswith("Hot charge air protects the engine")


def with_unknown_cell() -> Statement:
    """The sheet in the car has "?" in the cell of `UNSEEN`."""
    supplied = sheet("rev-d.toml", "D", [charge_air(DEG)])
    unknown = put_all(supplied.calibration, [(UNSEEN[0], "?")])
    return told(hot(climb()), replace(supplied, calibration=unknown))


def test_a_cell_that_nobody_knew_may_be_raised_by_nobody_knows_how_much() -> None:
    made = ordered(with_unknown_cell(), UNSEEN)
    assert "Care: it may raise advance, nobody can say how much (the main map at" in made.headline
    (read,) = [step for step in made.steps if "read out of the ECU what it has there" in step]
    (between,) = [step for step in made.steps if "sheets in between" in step]
    assert made.steps.index(read) < made.steps.index(between)
    assert made.drive[0].startswith("Advance is raised")


def test_what_is_known_to_be_raised_is_told_beside_what_nobody_knows() -> None:
    made = ordered(with_unknown_cell(), UNSEEN, EDIT)
    assert "raises advance by 2.0° (Hot charge air at 60 °C) and may raise advance, nobody" in (
        made.headline
    )
