"""A rehearsal on a sheet that the log contradicts says so, and what it is worth."""

import pytest

from tests.change.rehearsals import DEG, edited, hot, hot_statement, notes_of
from tests.explain.parts import pulling, switched, with_lever
from tests.explain.told import told
from tests.runs import charge_air, climb, sheet
from tuneledger.change.rehearsal_text import as_text
from tuneledger.change.rehearse import rehearse_edit
from tuneledger.statement.model import Statement

BARE = sheet("rev-d.toml", "D", [])
COOLED = sheet("rev-c.toml", "C", [charge_air(DEG)])
LIMITS = ("spark.limits.lowest", -12.0)


def contradicted(lever: float = -8.0) -> Statement:
    """The lever takes 3°; the sheet has another number, and 4° that the car never took."""
    run = with_lever(climb())
    made = sheet("rev-d.toml", "D", [switched("lever", lever), charge_air((-4.0,) * 4)])
    return told(run.post("lever", pulling(run, -3.0)), made)


def test_a_sheet_that_runs_but_does_not_account_for_a_cylinder_is_not_contradicted() -> None:
    run = hot(climb())
    run = run.carry("Ignition cylinder 3", run.scheduled - 3.0)
    rehearsal = edited(told(run, COOLED), ("spark.correction.charge-air.values[3]", -5.0))
    assert "Revision C, edited here, does not account for all in this log." in rehearsal.headline
    assert "contradicts" not in rehearsal.headline


def test_of_several_sheets_the_one_that_the_log_behaves_like_is_named() -> None:
    rehearsal = edited(told(hot(climb()), BARE, COOLED), LIMITS)
    assert "The log contradicts revision D, edited here, and behaves like C." in rehearsal.headline


def test_a_sheet_that_the_log_bears_out_is_rehearsed_without_a_word_of_it() -> None:
    rehearsal = edited(hot_statement(), LIMITS)
    assert "contradicts" not in rehearsal.headline
    assert "gives what the log shows" not in notes_of(rehearsal)
    assert rehearsal.bearing is not None
    assert rehearsal.bearing.share > 0.98


def test_where_no_sheet_given_is_like_the_log_that_is_said() -> None:
    rehearsal = edited(contradicted(), ("spark.correction.lever.amount", -2.0))
    assert "behaves like no sheet given here" in rehearsal.headline
    assert (
        "revision D gives what the log shows in none of the run, and in none of what moves here: "
        "what moves goes from what the log shows to the edited numbers"
    ) in notes_of(rehearsal)
    assert "like none of the supplied revisions; nearest is revision D" in as_text(rehearsal)


def test_the_sheet_put_in_its_place_may_be_the_one_that_ran() -> None:
    rehearsal = rehearse_edit(told(hot(climb()), BARE), COOLED.calibration, ())
    assert (
        "The log contradicts revision D, edited here, and behaves like C, put in its place: the "
        "car seems to run it already."
    ) in rehearsal.headline


def test_an_edit_that_the_car_has_already_is_recognised() -> None:
    rehearsal = edited(
        contradicted(-3.0), ("spark.correction.charge-air.values", [0.0, 0.0, 0.0, 0.0])
    )
    assert "behaves like the edited sheet: the car seems to run it already" in rehearsal.headline


def test_where_the_sheet_is_right_in_what_moves_the_rehearsal_holds_there() -> None:
    """The lever does what the sheet has; three degrees elsewhere are not in it."""
    run = with_lever(climb())
    took = pulling(run, -4.0)
    stranger = -3.0 * ((run.times > 4.0) & (run.times < 20.0))
    statement = told(
        run.post("lever", took).post("stranger", stranger),
        sheet("rev-d.toml", "D", [switched("lever", -4.0)]),
    )
    rehearsal = edited(statement, ("spark.correction.lever.amount", -3.0))
    assert rehearsal.bearing is not None
    assert rehearsal.bearing.moving == pytest.approx(1.0, abs=0.03)
    assert rehearsal.bearing.share < 0.8
    assert "of what moves here: there the rehearsal holds" in notes_of(rehearsal)


def test_a_sheet_that_says_nothing_of_the_log_is_not_said_to_be_contradicted() -> None:
    calibration = BARE.calibration
    spark = calibration.spark.model_copy(
        update={
            "complete": False,
            "map": calibration.spark.map.model_copy(
                update={
                    "values": tuple(tuple("?" for _ in row) for row in calibration.spark.map.values)
                }  # type: ignore[union-attr]
            ),
        }
    )
    mute = sheet("rev-d.toml", "D", [])
    mute = type(mute)(mute.file, calibration.model_copy(update={"spark": spark}))
    rehearsal = edited(told(climb(), mute), LIMITS)
    assert "contradicts" not in rehearsal.headline
    assert "this log cannot tell" in rehearsal.headline
