"""What somebody at a terminal must find in a statement."""

import re
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st
from rich.cells import cell_len

from tests.statements import (
    ALL,
    agrees,
    cannot_tell,
    crowded,
    explained_by_charge_air,
    hidden_rule,
    idle_only,
    no_delivered,
    other_map,
    other_revision,
    raised_under_load,
    two_logs,
)
from tuneledger.explain.model import Span
from tuneledger.statement.model import Statement
from tuneledger.statement.text import as_text

MADE = {name: make() for name, make in ALL.items()}
each = pytest.mark.parametrize("statement", MADE.values(), ids=MADE)


def told(statement: Statement, width: int = 80) -> str:
    """The text with its line breaks and columns closed up, so that phrases can be looked for."""
    return " ".join(as_text(statement, width=width).split())


@each
def test_the_headline_comes_first_and_the_verdict_after_it_in_words(statement: Statement) -> None:
    text = told(statement)
    assert text.startswith(statement.headline)
    assert f"Verdict {statement.verdict}: " in text


@each
@pytest.mark.parametrize("width", [32, 40, 71, 72, 80, 120, 300])
def test_no_line_is_wider_than_the_terminal(statement: Statement, width: int) -> None:
    for row in as_text(statement, width=width).splitlines():
        assert cell_len(row) <= width
        assert row == row.rstrip()


@each
def test_a_statement_fits_on_one_screen(statement: Statement) -> None:
    assert len(as_text(statement, width=80).splitlines()) <= 40


@each
def test_plain_text_says_all_that_the_coloured_one_says(statement: Statement) -> None:
    coloured = as_text(statement, colour=True)
    assert "\x1b[" in coloured
    assert re.sub(r"\x1b\[[0-9;]*m", "", coloured) == as_text(statement)
    assert "\x1b" not in as_text(statement)


@each
def test_every_degree_of_a_difference_has_its_sign_and_none_has_a_hyphen(
    statement: Statement,
) -> None:
    assert not re.search(r"-\d+(\.\d+)?°", told(statement))
    for cause in statement.causes[:1]:
        assert re.search(r"[−+]\d+\.\d°", told(statement)), cause.says


@each
def test_cautions_are_said_exactly_once(statement: Statement) -> None:
    text = told(statement)
    assert text.count("Take care") == 1
    assert text.count("detonate an engine") <= 1


def test_agreement_is_not_called_safe_and_the_crank_is_left_open() -> None:
    text = told(agrees())
    assert "to agree is not to be safe" in text
    assert "keep clear of rotating parts" in text
    assert "Cause" not in text


def test_a_cause_shows_degrees_seconds_evidence_certainty_sentence_and_next_step() -> None:
    text = told(explained_by_charge_air())
    assert re.search(r"1 charge-air, revision D ·* −1\.6° 46 s computed 98 %", text)
    assert "revision D takes up to −2.2° for that." in text
    assert "Next: Ask first why the air was so hot" in text


def test_what_is_expected_is_called_so() -> None:
    text = told(idle_only())
    assert "idle-governor, expected" in text
    assert re.search(r"idle, expected 10 \d+ s", text)


def test_raised_advance_under_load_is_marked_in_words_and_ink() -> None:
    assert as_text(raised_under_load()).startswith("Stop: ")
    assert as_text(raised_under_load(), colour=True).startswith("\x1b[1;38;5;166mStop")
    assert "+5.0°" in told(raised_under_load())


def test_another_revision_is_named_with_how_far_off_each_sheet_is() -> None:
    text = told(other_revision())
    assert (
        "like revision C, not the supplied D, given first (99 % sure); misfit 0.03° for C, 1.94° "
        "for D"
    ) in text
    assert "save what is in the car first" in text


def test_one_sheet_alone_is_not_said_to_have_been_given_first() -> None:
    base = other_revision()
    assert "given first" not in told(replace(base, sheets=base.sheets[:1]))


def test_a_change_of_revision_on_the_way_is_shown_with_its_time() -> None:
    base = other_revision()
    assert base.running is not None
    moments = ((0.0, 20.0), (20.0, 30.0), (30.0, 40.0), (40.0, 60.0))  # more than a sentence names
    spans = tuple(Span(0, *at, name) for at, name in zip(moments, "DCDC", strict=True))
    text = told(replace(base, running=replace(base.running, spans=spans)))
    assert "in climb-3.csv D from 0.00 s, C from 20.00 s" in text


def test_what_is_needed_is_listed_with_its_reason_and_unknown_is_not_zero() -> None:
    text = told(cannot_tell())
    assert "Needed Oil pressure: the correction 'oil guard' reads it" in text
    assert "not known" in text
    assert "Not to know is not to agree" in told(no_delivered())
    assert "nothing: no channel is the delivered advance" in told(no_delivered())


def test_a_hidden_rule_is_written_out_with_what_fits_equally() -> None:
    text = told(hidden_rule())
    assert "1 rule-1, in no file ·" in text
    assert "Rule: −4.0° while Wet switch is 1 and Plate is above 55 %" in text
    assert "Fits equally: −4.0° while Fan is 1" in text


def test_another_map_names_the_cells_that_differ_in_their_units() -> None:
    text = told(other_map())
    assert "200 kPa, 7000 rpm: −2.0°" in text
    assert "and 1 more, see --json" in text
    assert "load, map" in text


def test_every_log_is_named() -> None:
    text = told(two_logs())
    assert "Logs morning.csv" in text
    assert "afternoon.csv" in text


def test_the_sheet_stands_in_where_scheduled_is_not_logged_and_that_is_said() -> None:
    base = explained_by_charge_air()
    books = base.logs[0]
    kept = {k: v for k, v in books.roles.by_signal.items() if k != "scheduled advance"}
    without = replace(books, roles=replace(books.roles, by_signal=kept))
    text = told(replace(base, logs=(without,)))
    assert "with the map of rev-d.toml, since scheduled is not logged" in text


def test_long_lists_are_folded_and_counted_and_the_worst_causes_stay() -> None:
    statement = crowded()
    text = told(statement)
    assert text.count("see --json") >= 3
    assert "trim-0" in text
    shown = len(re.findall(r"trim-\d+,", text))
    assert f"and {len(statement.causes) - shown} more, see --json" in text


def test_names_from_strangers_cannot_steer_the_terminal() -> None:
    text = as_text(crowded())
    assert "\x1b" not in text
    assert "\r" not in text
    assert "\u202e" not in text
    assert "\\x1b[31mBank" in text


def test_wide_letters_keep_the_columns_straight() -> None:
    base = explained_by_charge_air()
    wide = replace(base.causes[0], correction="吸気温度補正")
    rows = as_text(replace(base, causes=(wide,))).splitlines()
    posting = next(row for row in rows if "吸気" in row)
    assert cell_len(posting) == 80


@given(st.text(), st.text(), st.text(), st.integers(32, 120))
def test_no_text_from_a_file_can_break_the_layout(
    name: str, note: str, says: str, width: int
) -> None:
    base = explained_by_charge_air()
    cause = replace(base.causes[0], correction=name, says=says)
    strange = replace(base, headline=says, notes=(note,), causes=(cause,))
    text = as_text(strange, width=width)
    assert not re.search("[\x00-\x09\x0b-\x1f\x7f-\x9f\u2028\u202e]", text)
    assert all(cell_len(row) <= width for row in text.split("\n"))
