"""How sure a rehearsal is, and what it says first."""

from pathlib import Path

import numpy as np
import pytest

from tests.change.rehearsals import AIR, DEG, edited, hot, hot_statement, moves, notes_of
from tests.explain.parts import oil_guard, switched, with_lever
from tests.runs import along, climb
from tuneledger.calibrations import open_calibration
from tuneledger.calibrations.paths import put_all
from tuneledger.calibrations.write import to_toml
from tuneledger.change.rehearsal_out import rehearsed_table
from tuneledger.change.rehearse import rehearse


def test_the_engine_s_answer_is_not_replayed_and_that_is_said() -> None:
    rehearsal = edited(hot_statement(), ("spark.correction.charge-air.enabled", False))
    assert "what the advance does back to the engine (speed, load) is not replayed" in notes_of(
        rehearsal
    )


def test_cells_that_were_not_driven_are_named() -> None:
    rehearsal = edited(
        hot_statement(run=hot(climb(warmth=10.0))),
        ("spark.correction.charge-air.values[3]", -9.0),
        ("spark.correction.charge-air.values[0]", 1.0),
    )
    assert (
        "1 of 2 changed cells of Hot charge air was not reached on this drive, nothing is shown "
        "of it: 20 °C"
    ) in notes_of(rehearsal)


def test_a_correction_that_never_acts_shows_nothing() -> None:
    run = with_lever(hot(climb()), np.zeros(climb().times.shape, dtype=bool))
    statement = hot_statement(switched("lever", -4.0), run=run)
    rehearsal = edited(statement, ("spark.correction.lever.amount", -6.0))
    assert rehearsal.exit_status == 0
    assert rehearsal.headline.startswith("Nothing moves on this drive")
    assert "lever never acts on this drive" in notes_of(rehearsal)


def test_a_retard_that_never_acted_and_is_eased_is_said_to_raise_where_nobody_drove() -> None:
    run = with_lever(hot(climb()), np.zeros(climb().times.shape, dtype=bool))
    rehearsal = edited(
        hot_statement(switched("lever", -4.0), run=run), ("spark.correction.lever.enabled", False)
    )
    assert rehearsal.exit_status == 1
    assert rehearsal.headline.startswith("Care: nothing moves on this drive")
    assert "raises advance by 4.0° (lever), where this drive never was" in rehearsal.headline


@pytest.mark.parametrize(("to", "raised"), [(40.0, True), (10.0, False)])
def test_a_cell_where_this_drive_never_was_is_not_raised_without_a_word(
    tmp_path: Path, to: float, raised: bool
) -> None:
    """Kestrel's climb never came near 240 kPa at 5000 rpm, where revision C has 16.5°."""
    demo = Path(__file__).parents[2] / "demo"
    changes = tmp_path / "changes.toml"
    changes.write_text(
        'format = "tuneledger-changes/1"\n[[change]]\n'
        f'place = "spark.map.values[6][5]"\nto = {to}\n'
    )
    made = rehearse(demo / "climb.csv", demo / "rev-c.toml", changes=changes, memory=False)
    assert not made.moving.any()
    assert made.exit_status == raised
    words = (
        "raises advance by 23.5° (the main map at 240 kPa, 5000 rpm), where this drive never was"
    )
    assert (words in made.headline) is raised
    assert made.headline.startswith("Care") is raised


def test_an_input_that_is_not_logged_leaves_the_outcome_empty_and_is_asked_for() -> None:
    statement = hot_statement(oil_guard(-8.0))
    rehearsal = edited(statement, ("spark.correction.oil-guard.amount", -4.0))
    assert rehearsal.exit_status == 3
    assert rehearsal.headline.startswith("Cannot tell")
    assert [need.what for need in rehearsal.needs] == ["Oil gallery"]
    assert rehearsed_table(rehearsal)["rehearsed_deg"].null_count() == 1200


def test_an_unlogged_input_of_a_correction_that_is_left_alone_spoils_nothing() -> None:
    statement = hot_statement(oil_guard(-8.0))
    rehearsal = edited(statement, ("spark.correction.charge-air.enabled", False))
    taken = along(climb(), "intake air temperature", AIR, DEG)
    assert not np.isnan(rehearsal.moves).any()
    assert moves(rehearsal) == pytest.approx(-taken, abs=0.06)


def test_what_nobody_accounts_for_is_kept_as_it_was() -> None:
    run = climb()
    statement = hot_statement(run=hot(run).post("stranger", np.where(run.times < 20, -2.0, 0.0)))
    rehearsal = edited(statement, ("spark.correction.charge-air.enabled", False))
    taken = along(run, "intake air temperature", AIR, DEG)
    assert moves(rehearsal) == pytest.approx(-taken, abs=0.4)


def test_an_edit_that_adds_under_load_comes_with_care_first() -> None:
    rehearsal = edited(hot_statement(), ("spark.correction.charge-air.enabled", False))
    assert rehearsal.headline.startswith("Care: ")
    assert "Ask first why it was taken" in rehearsal.headline
    taking = edited(hot_statement(), ("spark.correction.charge-air.values[2]", -5.0))
    assert not taking.headline.startswith("Care")


def test_a_lowest_limit_that_is_raised_is_said_where_nothing_moves_on_this_drive() -> None:
    rehearsal = edited(hot_statement(), ("spark.limits.lowest", 3.0))
    assert not rehearsal.moving.any()
    assert rehearsal.headline.startswith("Care: nothing moves on this drive")
    assert "raises the lowest advance allowed by 11.0° to +3.0°" in rehearsal.headline
    assert rehearsal.exit_status == 1


def test_a_cell_that_nobody_knew_is_not_filled_without_a_word_where_nobody_drove(
    tmp_path: Path,
) -> None:
    """Kestrel's climb never came near 240 kPa at 7400 rpm."""
    demo = Path(__file__).parents[2] / "demo"
    known = open_calibration(demo / "rev-c.toml")
    unknown = put_all(known, [("spark.map.values[6][7]", "?")])
    (tmp_path / "unknown.toml").write_text(to_toml(unknown), encoding="utf-8")
    rehearsal = rehearse(
        demo / "climb.csv", tmp_path / "unknown.toml", to=demo / "rev-c.toml", memory=False
    )
    assert rehearsal.headline.startswith("Care: nothing moves on this drive")
    assert (
        "may raise advance, nobody can say how much (the main map at 240 kPa, 7400 rpm)"
        in rehearsal.headline
    )
    assert rehearsal.exit_status == 1
