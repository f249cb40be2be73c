"""One question at most, only to a person at a terminal; elsewhere a line says how to tell it."""

import io
import json
import sys
from dataclasses import replace
from pathlib import Path

import pytest

from tests.cli.conftest import Answering
from tests.statements import agrees, no_delivered
from tuneledger.cli.main import run
from tuneledger.roles.model import Doubt
from tuneledger.statement.model import Statement

Calls = list[dict[str, object]]


class Terminal(io.StringIO):
    """Text that seems to come from, or go to, a person."""

    def isatty(self) -> bool:
        return True


def doubtful(*signals: str) -> Statement:
    """A statement in whose log no channel is sure enough for these signals."""
    base = no_delivered()
    (account,) = base.logs
    one, two = account.log.channels[1:3]
    doubts = tuple(Doubt(s, ((one, 0.6), (two, 0.3)), "alike") for s in signals)
    return replace(base, logs=(replace(account, roles=replace(account.roles, doubts=doubts)),))


def types(monkeypatch: pytest.MonkeyPatch, text: str) -> Terminal:
    """A person at a terminal who types this; what they see comes back."""
    out = Terminal()
    monkeypatch.setattr(sys, "stdin", Terminal(text))
    monkeypatch.setattr(sys, "stdout", out)
    monkeypatch.setenv("NO_COLOR", "1")
    return out


def test_the_likely_channels_are_the_choices_and_the_answer_is_used(
    answering: Answering, calls: Calls, monkeypatch: pytest.MonkeyPatch
) -> None:
    statement = doubtful("delivered advance")
    answering(statement)
    seen = types(monkeypatch, "2\n")
    run(["reconcile", "log.csv"])
    one, two = statement.logs[0].log.channels[1:3]
    asked = seen.getvalue()
    assert f"1  {one.name} (60 %)" in asked
    assert f"2  {two.name} (30 %)" in asked
    assert "3  not sure" in asked
    assert [call.get("answers") for call in calls] == [None, {"delivered advance": two.name}]


@pytest.mark.parametrize("typed", ["3\n", "\n", "", "x\n9\n-1\n"])
def test_not_to_be_sure_is_an_answer_and_so_is_silence(
    typed: str,
    answering: Answering,
    calls: Calls,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    answering(doubtful("delivered advance"))
    seen = types(monkeypatch, typed)
    assert run(["reconcile", "log.csv"]) == 3
    assert len(calls) == 1
    assert "Verdict" in seen.getvalue()


def test_only_one_question_is_asked_that_about_the_advance_first(
    answering: Answering, monkeypatch: pytest.MonkeyPatch
) -> None:
    answering(doubtful("intake air temperature", "scheduled advance", "delivered advance"))
    seen = types(monkeypatch, "1\n1\n1\n")
    run(["reconcile", "log.csv"])
    asked = seen.getvalue()
    assert asked.count("Which channel is") == 1
    assert "Which channel is the delivered advance?" in asked


def test_nothing_is_asked_where_nothing_turns_on_it(
    answering: Answering, monkeypatch: pytest.MonkeyPatch
) -> None:
    answering(doubtful("fuel temperature"))
    seen = types(monkeypatch, "1\n")
    run(["reconcile", "log.csv"])
    answering(agrees())
    run(["reconcile", "log.csv"])
    assert "Which channel" not in seen.getvalue()


def test_a_pipe_is_never_asked_and_told_how_to_tell_it(
    answering: Answering,
    calls: Calls,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    statement = doubtful("delivered advance")
    answering(statement)
    monkeypatch.setattr(sys, "stdin", Terminal("1\n"))  # a person types, but does not see
    run(["reconcile", "log.csv"])
    printed = capsys.readouterr().out
    assert "Which channel is" not in printed
    assert "roles file" in printed
    assert f'"delivered advance" = "{statement.logs[0].log.channels[1].name}"' in printed
    assert len(calls) == 1


def test_json_on_the_terminal_is_json_alone(
    answering: Answering, calls: Calls, monkeypatch: pytest.MonkeyPatch
) -> None:
    answering(doubtful("delivered advance"))
    seen = types(monkeypatch, "1\n")
    run(["reconcile", "log.csv", "--json", "-"])
    assert json.loads(seen.getvalue())["verdict"] == "cannot tell"
    assert len(calls) == 1


def test_an_answer_is_used_by_the_logs_that_carry_the_channel(tmp_path: Path) -> None:
    from tuneledger.main_job import reconcile_files

    rows = [f"{t / 10:.1f},{3000 + t},{20 + t % 5},{18 + t % 5}" for t in range(120)]
    for file, names in (("one.csv", "s1,s2"), ("two.csv", "p,q")):
        text = "\n".join([f"Time,rpm,{names}", *rows]) + "\n"
        (tmp_path / file).write_text(text, encoding="utf-8")
    answers = {"delivered advance": "s2"}
    paths = [tmp_path / "one.csv", tmp_path / "two.csv"]
    statement = reconcile_files(paths, memory=False, answers=answers)
    role = statement.logs[0].roles.get("delivered advance")
    assert role is not None
    assert role.channel.name == "s2"
    assert role.certainty == 1.0


def test_one_advance_that_may_be_either_is_asked_for_both_ways(
    answering: Answering, calls: Calls, monkeypatch: pytest.MonkeyPatch
) -> None:
    base = no_delivered()
    (account,) = base.logs
    one = account.log.channels[1]
    doubts = (
        Doubt("scheduled advance", ((one, 0.3),), "plain", ("delivered advance", 0.6)),
        Doubt("delivered advance", ((one, 0.6),), "plain", ("scheduled advance", 0.3)),
    )
    answering(replace(base, logs=(replace(account, roles=replace(account.roles, doubts=doubts)),)))
    seen = types(monkeypatch, "2\n")
    run(["reconcile", "log.csv"])
    asked = seen.getvalue()
    assert asked.count("Which channel is") == 1
    assert f"1  {one.name} (60 %)" in asked
    assert f"2  none: {one.name} is the scheduled advance (30 %)" in asked
    assert [call.get("answers") for call in calls] == [None, {"scheduled advance": one.name}]
