"""The change order: what is on it, what is not, and when there is none."""

import json
import re
from dataclasses import replace
from html import unescape
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from tests.explain.parts import AIR, AT, DEG, pulling, switched, with_lever
from tests.explain.told import told, told_of
from tests.runs import Run, along, charge_air, climb, sheet
from tuneledger.calibrations import open_calibration
from tuneledger.calibrations.check import check
from tuneledger.calibrations.paths import as_raw
from tuneledger.change.differences import differences
from tuneledger.change.edits import Edit, carry_out
from tuneledger.change.order import Order, order_of
from tuneledger.change.order_out import as_json, as_text
from tuneledger.cli.main import run as cli
from tuneledger.pages.order import order_page
from tuneledger.statement.model import Statement

EASED = (0.0, 0.0, -1.0, -2.0)


def hot(run: Run) -> Run:
    return run.post("charge-air", along(run, AIR, AT, DEG))


def ordered(statement: Statement, *edits: tuple[str, Any], revision: str = "E") -> Order:
    supplied = statement.sheets[0]
    new, changes = carry_out(
        supplied.calibration, [Edit(*one) for one in edits], file="c", sheet=supplied.file
    )
    return order_of(statement, new.model_copy(update={"revision": revision}), changes)


def one_sheet(*more: dict[str, Any], run: Run | None = None) -> Statement:
    return told(run or hot(climb()), sheet("rev-d.toml", "D", [charge_air(DEG), *more]))


EDIT = ("spark.correction.charge-air.values[2]", -1.0)


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
    }


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


def test_a_cell_of_the_map_is_held_under_load_on_a_dynamometer_only() -> None:
    made = ordered(one_sheet(), ("spark.map.values[4][3]", 16.0))
    (hold,) = [text for text in made.drive if "two seconds" in text]
    assert hold == "Hold each for two seconds, under load on a dynamometer only: 200 kPa, 5000 rpm."


def test_nothing_to_change_is_no_order() -> None:
    made = ordered(one_sheet(), ("spark.correction.charge-air.values[2]", -3.0))
    assert made.exit_status == 0
    assert made.headline.startswith("Nothing to change")


# ---- more advance

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


def test_another_sheet_may_bring_a_correction_that_the_one_in_the_car_lacks() -> None:
    statement = one_sheet()
    launch = switched("launch", -9.0, when=[{"channel": "Pit", "is": "on"}])
    new = sheet("rev-e.toml", "E", [charge_air(DEG), launch]).calibration
    made = order_of(statement, new, differences(statement.sheets[0].calibration, new), stands=True)
    assert [line.place for line in made.edits] == ["spark.correction.launch"]
    assert made.besides == ()


# ---- when there is none


def withheld(made: Order) -> str:
    assert made.exit_status == 3
    answer = as_json(made)
    assert answer["edits"] == answer["besides"] == answer["steps"] == answer["drive"] == []
    assert "−3" not in as_text(made)
    assert "☐" not in order_page(made)
    return " ".join(made.withheld)


def test_there_is_none_where_the_sign_of_an_advance_is_in_doubt() -> None:
    statement = one_sheet()
    account = statement.logs[0]
    role = account.roles.by_signal["delivered advance"]
    roles = replace(
        account.roles,
        by_signal={
            **account.roles.by_signal,
            "delivered advance": replace(role, relabelled="sign"),
        },
    )
    statement = replace(statement, logs=(replace(account, roles=roles),))
    assert "was read against its own sign" in withheld(ordered(statement, EDIT))


@pytest.mark.parametrize("signal", ["intake air temperature", "engine speed", "scheduled advance"])
def test_there_is_none_where_a_role_that_counts_is_in_doubt(signal: str) -> None:
    statement = one_sheet()
    account = statement.logs[0]
    role = replace(account.roles.by_signal[signal], certainty=0.7)
    roles = replace(account.roles, by_signal={**account.roles.by_signal, signal: role})
    statement = replace(statement, logs=(replace(account, roles=roles),))
    assert f"as {signal} is only 70 % sure" in withheld(ordered(statement, EDIT))


def test_a_doubtful_role_that_nothing_reads_does_not_matter() -> None:
    statement = one_sheet()
    account = statement.logs[0]
    role = replace(account.roles.by_signal["idle speed target"], certainty=0.5)
    roles = replace(account.roles, by_signal={**account.roles.by_signal, "idle speed target": role})
    statement = replace(statement, logs=(replace(account, roles=roles),))
    assert ordered(statement, EDIT).withheld == ()


def test_there_is_none_where_the_car_runs_none_of_the_sheets() -> None:
    run = with_lever(climb()).post("stranger", np.where(climb().times % 20 < 9, -5.0, 0.0))
    statement = one_sheet(run=run)
    assert statement.running is not None
    assert statement.running.best is None
    assert "read the ECU back" in withheld(ordered(statement, EDIT))


def test_there_is_none_without_an_account() -> None:
    statement = told(climb(), sheet("rev-d.toml", "D", [charge_air(DEG)]), delivered=False)
    assert "carries no delivered advance" in withheld(ordered(statement, EDIT))


# ---- on paper and on disk


def test_the_answer_has_its_keys() -> None:
    answer = as_json(ordered(one_sheet(), EDIT))
    assert list(answer) == [
        *("format", "revision", "withheld", "questions", "edits", "besides", "steps"),
        *("log", "drive", "cautions"),
    ]
    assert answer["format"] == "tuneledger-order/1"
    assert answer["revision"] == {"in_car": "D", "edited_from": "D", "first_sheet": "D", "to": "E"}
    assert json.loads(json.dumps(answer)) == answer


def test_the_page_runs_nothing_and_names_from_files_are_text() -> None:
    evil = charge_air(DEG) | {"title": "<script>alert(1)</script>\u202e"}
    statement = told(hot(climb()), sheet("rev-d.toml", "D", [evil]))
    page = order_page(ordered(statement, EDIT))
    assert "<script" not in page
    assert "\u202e" not in page
    assert not re.search(r"src=|href=|url\(", page)
    assert "default-src 'none'" in unescape(page)


def files_of_kestrel(folder: Path) -> None:
    demo = Path(__file__).parents[2] / "demo"
    for name in ("climb.csv", "rev-c.toml", "rev-d.toml"):
        (folder / name).write_bytes((demo / name).read_bytes())
    (folder / "eased.toml").write_text(
        'format = "tuneledger-changes/1"\n[[change]]\n'
        'place = "spark.correction.charge-air.values[4]"\nto = -6.0\n'
    )


def test_kestrel_s_order_comes_with_its_sheet_and_keeps_its_lines(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    files_of_kestrel(tmp_path)
    old = Path("rev-c.toml").read_text().replace("[[spark", "# as agreed in May\n[[spark", 1)
    Path("rev-c.toml").write_text(old)
    call = ["order", "climb.csv", "rev-c.toml", "--change", "eased.toml", "--no-memory"]
    assert cli([*call, "--sheet", "rev-e.toml"]) == 2, "it needs a revision name of its own"
    assert not Path("rev-e.toml").exists()
    outputs = ["--sheet", "rev-e.toml", "--page", "o.html", "--json", "o.json"]
    assert cli([*call, "--revision", "E", *outputs]) == 1
    new = Path("rev-e.toml").read_text()
    changed = [
        (one, other)
        for one, other in zip(old.splitlines(), new.splitlines(), strict=True)
        if one != other
    ]
    assert changed == [
        ('revision = "C"', 'revision = "E"'),
        ("values = [0.0, 0.0, -2.5, -5.0, -8.0]", "values = [0.0, 0.0, -2.5, -5.0, -6.0]"),
    ]
    assert open_calibration("rev-e.toml").revision == "E"
    assert json.loads(Path("o.json").read_text())["edits"][0]["after"] == -6.0
    assert "Hot charge air" in Path("o.html").read_text()


def test_a_bad_change_file_writes_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    files_of_kestrel(tmp_path)
    Path("bad.toml").write_text('format = "tuneledger-changes/1"\n')
    call = ["order", "climb.csv", "rev-c.toml", "--change", "bad.toml", "--page", "o.html"]
    assert cli([*call, "--json", "o.json", "--no-memory"]) == 2
    assert not Path("o.html").exists()
    assert not Path("o.json").exists()
