"""The reply: what was found, exactly what is missing, and a caution, ready to send."""

import re
from dataclasses import replace

import pytest

from tests.explain.parts import AIR, AT, oil_guard, pulling, switched, with_lever, with_low_oil
from tests.explain.told import told
from tests.runs import along, charge_air, climb, sheet
from tests.statements import ALL
from tuneledger.statement.asking import asking
from tuneledger.statement.model import Statement
from tuneledger.statement.reply import WIDTH, reply

RUN = climb()
PULLED = RUN.post("x", pulling(RUN, -4.0))
STRICT = (0.0, -1.0, -4.0, -7.0)


def flat(statement: Statement) -> str:
    return " ".join(reply(statement).split())


@pytest.mark.parametrize("name", ALL)
def test_it_is_short_plain_text_for_every_statement(name: str) -> None:
    text = reply(ALL[name]())
    lines = text.splitlines()
    assert text.endswith("\n")
    assert len(lines) <= 45
    assert max(map(len, lines)) <= WIDTH + 14  # a long file name is not cut
    assert not re.search(r"[\x00-\x09\x0b-\x1f*`#]", text)


def test_it_names_every_file_that_was_looked_at() -> None:
    text = flat(told(PULLED, sheet("rev-d.toml", "D")))
    assert "run-1.csv" in text
    assert "rev-d.toml" in text


def test_a_log_alone_asks_for_the_calibration_and_for_a_read_back() -> None:
    text = flat(told(with_lever(PULLED)))
    assert "the calibration that the ECU is said to run" in text
    assert "read it back" in text


def test_a_channel_that_a_sheet_reads_is_asked_for_by_name() -> None:
    text = flat(told(PULLED, sheet("rev-d.toml", "D", [oil_guard(-4.0)])))
    assert "Oil gallery" in text
    assert "the same drive once more, no harder than this one" in text


def test_another_revision_in_the_car_asks_for_a_read_back_before_loading() -> None:
    run = RUN.post("x", along(RUN, AIR, AT, STRICT))
    eased = sheet("rev-d.toml", "D", [charge_air((0.0, 0.0, -2.0, -5.0)), switched("cut", -9.0)])
    text = flat(told(run, eased, sheet("rev-c.toml", "C", [charge_air(STRICT)])))
    assert "Behaves like revision C, not D" in text
    assert "before anything is loaded" in text
    assert "Please do not load revision D yet." in text
    assert "cut comes on (−9.0°)" in text


def test_what_protected_the_engine_is_asked_after_before_it_is_driven_hard_again() -> None:
    statement = told(with_low_oil(PULLED), sheet("rev-d.toml", "D", [oil_guard(-4.0)]))
    asked = asking(statement)
    assert (asked.files, asked.channels, asked.drives) == ((), (), ())
    (question,) = asked.questions
    assert question.startswith("what may have made 'Oil guard' act?")
    assert "before it is driven hard again" in question


def test_whether_a_correction_was_meant_is_asked_since_no_log_can_say_it() -> None:
    cut = sheet("rev-d.toml", "D", [switched("cut", -4.0)])
    statement = told(with_lever(PULLED), cut)
    assert statement.verdict == "explained"
    assert "is 'cut' meant to act as it did here?" in asking(statement).questions


@pytest.mark.parametrize("name", ALL)
def test_a_reply_that_asks_for_nothing_waits_for_nothing(name: str) -> None:
    statement = ALL[name]()
    text = flat(statement)
    if not asking(statement):
        assert "Until then" not in text
    if statement.raised_under_load:
        assert "I need nothing more" not in text


def test_agreement_with_its_sheet_needs_nothing_more() -> None:
    statement = told(RUN, sheet("rev-d.toml", "D"))
    assert "I need nothing more from you." in flat(statement)
    assert "Until" not in flat(statement)


def test_a_sheet_is_asked_for_beside_an_agreement_but_nothing_depends_on_it() -> None:
    text = flat(told(RUN))
    assert "To be surer still I need:" in text
    assert "To go on" not in text


def test_the_drive_that_is_asked_for_is_the_one_that_the_statement_asks_for() -> None:
    lever = with_lever(PULLED)
    statement = told(lever.carry("Fan", lever.extra["Lever"]))
    assert statement.causes[0].alternatives
    chosen = [one for one in statement.experiments if one.bits]
    assert chosen
    (drive,) = [one for one in asking(statement).drives if "no harder than this one" in one]
    assert all(one.sentence.removeprefix("Next log: ").rstrip(".") in drive for one in chosen)
    assert all(f"it tells {one.tells}" in drive for one in chosen)


def test_no_drive_is_asked_for_where_only_load_would_tell() -> None:
    lever = with_lever(PULLED)
    statement = told(lever.carry("Fan", lever.extra["Lever"]))
    loaded = [replace(one, bits=0.0) for one in statement.experiments]
    assert asking(replace(statement, experiments=tuple(loaded))).drives == ()


def test_without_any_experiment_the_channels_that_went_together_are_to_go_apart() -> None:
    lever = with_lever(PULLED)
    statement = told(lever.carry("Fan", lever.extra["Lever"]))
    (drive,) = asking(replace(statement, experiments=())).drives
    assert "do not change together" in drive


def test_nothing_is_to_be_driven_while_advance_stands_above_scheduled_under_load() -> None:
    raised = with_lever(RUN.post("x", pulling(RUN, 6.0)))
    statement = told(raised.carry("Fan", raised.extra["Lever"]))
    assert statement.raised_under_load
    assert asking(statement).drives == ()


def test_the_same_question_is_asked_once() -> None:
    cut = sheet("rev-d.toml", "D", [switched("cut", -4.0)])
    statement = told(with_lever(PULLED), cut)
    twice = replace(statement, causes=statement.causes * 2)
    questions = asking(twice).questions
    assert len(questions) == len(set(questions))


def test_two_revisions_that_agree_are_told_apart_by_a_read_back() -> None:
    one, other = sheet("rev-d.toml", "D"), sheet("rev-c.toml", "C", [switched("cut", -4.0)])
    off = with_lever(RUN, rows=RUN.times < 0)
    text = flat(told(off, one, other))
    assert "I need nothing more" not in text
    assert "this log alone cannot tell which revision it is" in text


def test_a_slow_log_is_asked_for_faster() -> None:
    slow = climb(rate_hz=5.0)
    asked = asking(told(with_lever(slow.post("x", pulling(slow, -4.0)))))
    assert any("20 samples" in drive for drive in asked.drives)


def test_a_raise_under_load_warns_of_any_load() -> None:
    text = flat(told(RUN.post("x", pulling(RUN, 6.0)), sheet("rev-d.toml", "D")))
    assert "no load on the engine" in text


def test_agreement_is_not_called_safe() -> None:
    assert "to agree is not to be safe" in flat(told(RUN, sheet("rev-d.toml", "D")))
