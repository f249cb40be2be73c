"""A sheet that was read out of a log proves nothing of that log, and it is said."""

import shutil
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from tests.explain.parts import DEG, pulling, with_lever
from tests.explain.told import told, told_of
from tests.runs import Run, charge_air, climb, sheet
from tuneledger.calibrations.drafted import SourceLog, fingerprint, source_lines, sources_of
from tuneledger.change.order import order_of
from tuneledger.change.rehearse import rehearse
from tuneledger.desk.whatif import running_sheet
from tuneledger.draft import draft_sheet
from tuneledger.main_job import reconcile_files
from tuneledger.statement.facts import running
from tuneledger.statement.model import SuppliedSheet
from tuneledger.statement.reply import reply

ANOTHER_DAY = climb(length_s=45.0)
DEMO = Path(__file__).parents[2] / "demo"


def pulled() -> Run:
    run = with_lever(climb())
    return run.post("x", pulling(run, -4.0))


def draft_of(*runs: Run) -> SuppliedSheet:
    draft = draft_sheet(told_of(runs))
    assert draft is not None
    return SuppliedSheet("draft.toml", draft.calibration)


def test_the_car_is_not_said_to_run_a_sheet_that_was_read_out_of_its_log() -> None:
    statement = told(pulled(), draft_of(pulled()))
    assert statement.running is not None
    assert statement.running.best is None
    assert not statement.running.matches_supplied
    assert running(statement).startswith(
        "cannot be judged: revision draft (draft.toml) was read out of these very logs"
    )
    assert "proves nothing of the car's file" in statement.notes[0]


def test_what_the_log_shows_is_told_as_without_the_sheet() -> None:
    with_it, without = told(pulled(), draft_of(pulled())), told(pulled())
    assert with_it.causes == without.causes
    assert with_it.verdict == without.verdict
    assert with_it.headline == without.headline


def test_without_a_scheduled_channel_such_a_sheet_stands_in_for_none() -> None:
    """What delivered alone shows cannot be what delivered is held against."""
    base = draft_of(climb())
    alone = told(climb(), base, logged=False)
    assert alone.verdict == "cannot tell"
    assert "agrees" not in alone.headline.casefold()


def test_other_sheets_are_judged_as_if_it_were_not_there() -> None:
    run = climb().post("charge-air", climb().scheduled * 0.0)
    others = (sheet("rev-d.toml", "D", []), sheet("rev-c.toml", "C", [charge_air(DEG)]))
    statement = told(run, draft_of(run), *others)
    assert statement.running is not None
    assert (statement.running.supplied, statement.running.best) == ("D", "D")
    text = running(statement)
    assert text.startswith("like revision D, as supplied, given first")
    assert text.endswith("draft was read out of these very logs")


def test_on_a_log_of_another_day_it_may_fit_and_is_still_nobody_s_file() -> None:
    statement = told(ANOTHER_DAY, draft_of(climb()))
    assert statement.running is not None
    assert statement.running.best == "draft"
    assert "is nobody's file, it was read out of run-1.csv" in statement.notes[0]


def test_of_two_logs_only_the_other_one_speaks_for_it() -> None:
    statement = told_of([climb(), ANOTHER_DAY], draft_of(climb()))
    assert "only run-2.csv can speak for or against it" in statement.notes[0]


@cache
def demo_draft() -> str:
    """What the demo's log alone shows, as a sheet's text."""
    draft = draft_sheet(reconcile_files([DEMO / "climb.csv"], memory=False))
    assert draft is not None
    return draft.text


def test_the_log_is_known_again_by_what_it_holds_and_not_by_its_name(tmp_path: Path) -> None:
    (tmp_path / "draft.toml").write_text(demo_draft(), encoding="utf-8")
    shutil.copy(DEMO / "climb.csv", tmp_path / "sent again.csv")
    again = reconcile_files([tmp_path / "sent again.csv", tmp_path / "draft.toml"], memory=False)
    assert again.running is not None
    assert again.running.read_out == ("draft.toml",)


def test_a_reply_asks_for_the_file_that_is_missing_all_the_same() -> None:
    assert "the calibration that the ECU is said to run" in reply(
        told(pulled(), draft_of(pulled()))
    )


def test_no_order_is_given_for_a_sheet_that_is_not_for_loading() -> None:
    draft = draft_of(climb())
    made = order_of(told(ANOTHER_DAY, draft), draft.calibration, ())
    assert any("is not for loading" in doubt for doubt in made.withheld)


def test_it_may_be_rehearsed_on_its_own_log_and_that_is_said(tmp_path: Path) -> None:
    """What the log shows, with a number changed, is what somebody wants to see."""
    (tmp_path / "draft.toml").write_text(demo_draft(), encoding="utf-8")
    (tmp_path / "off.toml").write_text(
        'format = "tuneledger-changes/1"\n[[change]]\n'
        'place = "spark.correction.inferred-1.enabled"\nto = false\n'
    )
    made = rehearse(
        DEMO / "climb.csv", tmp_path / "draft.toml", changes=tmp_path / "off.toml", memory=False
    )
    assert made.shifts[0].entry == "inferred-1"
    assert made.shifts[0].peak_deg == pytest.approx(4.1, abs=0.1)
    assert "this log cannot tell" in made.headline


def test_the_desk_starts_no_edit_from_it() -> None:
    assert running_sheet(told(pulled(), draft_of(pulled()))) is None


# ---- the mark


def test_a_sheet_says_which_logs_it_was_read_out_of() -> None:
    made = draft_of(climb(), ANOTHER_DAY).calibration
    assert [one.file for one in sources_of(made)] == ["run-1.csv", "run-2.csv"]
    assert sources_of(sheet("rev-d.toml", "D", []).calibration) == ()


def test_a_strange_file_name_keeps_its_line() -> None:
    source = SourceLog("a, fingerprint b and c.csv", fingerprint(np.arange(3.0)))
    base = draft_of(climb()).calibration
    notes = "\n".join(["NOT FOR LOADING.", *source_lines([source])])
    assert sources_of(base.model_copy(update={"notes": notes})) == (source,)


def test_the_fingerprint_passes_over_what_another_format_rounds_and_nothing_else() -> None:
    values = np.array([10.0, 12.3, np.nan, 14.7])
    assert fingerprint(values) == fingerprint(values + 1e-9)
    assert fingerprint(values) != fingerprint(np.where(values > 12, values + 0.1, values))
    assert fingerprint(values) != fingerprint(values[:-1])


def test_a_note_of_another_sheet_is_no_mark() -> None:
    made = sheet("rev-d.toml", "D", [])
    lines = "\n".join(source_lines([SourceLog("run-1.csv", "0" * 16)]))
    noted = replace(made, calibration=made.calibration.model_copy(update={"notes": lines}))
    assert sources_of(noted.calibration) == ()
