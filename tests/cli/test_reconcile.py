"""`tuneledger reconcile`: files in, text and outputs out, and the exit status of the statement."""

import json
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import polars as pl
import pytest

from tests.cli.conftest import Answering
from tests.statements import ALL, explained_by_charge_air, idle_only, no_delivered
from tuneledger.cli.main import run
from tuneledger.errors import Fault, SheetError
from tuneledger.statement.model import Statement
from tuneledger.statement.reply import reply


def raised_but_expected() -> Statement:
    base = ALL["raised_under_load"]()
    return replace(base, verdict="expected")


STATUSES: dict[str, tuple[Callable[[], Statement], int]] = {
    "agrees": (ALL["agrees"], 0),
    "expected": (ALL["idle_only"], 0),
    "expected, yet raised under load": (raised_but_expected, 1),
    "explained": (ALL["explained_by_charge_air"], 1),
    "unexplained": (ALL["hidden_rule"], 1),
    "cannot tell": (ALL["no_delivered"], 3),
}


@pytest.mark.parametrize("name", STATUSES)
def test_the_exit_status_follows_from_the_verdict(
    name: str, answering: Answering, capsys: pytest.CaptureFixture[str]
) -> None:
    make, status = STATUSES[name]
    answering(make())
    assert run(["reconcile", "log.csv"]) == status
    printed = capsys.readouterr()
    assert printed.out.startswith(make().headline[:40])
    assert printed.err == ""


def test_files_and_choices_reach_the_library(
    answering: Answering, calls: list[dict[str, object]]
) -> None:
    answering(idle_only())
    Path("roles.toml").touch()
    run(["reconcile", "log.csv", "rev-d.toml", "--roles", "roles.toml", "--no-memory"])
    (call,) = calls
    assert call.pop("meanwhile") is not None
    assert call == {
        "paths": (Path("log.csv"), Path("rev-d.toml")),
        "roles_file": Path("roles.toml"),
        "memory": False,
    }


def test_json_on_the_standard_output_stands_alone(
    answering: Answering, capsys: pytest.CaptureFixture[str]
) -> None:
    answering(explained_by_charge_air())
    assert run(["reconcile", "log.csv", "--json", "-"]) == 1
    assert json.loads(capsys.readouterr().out)["verdict"] == "explained"


def test_json_and_ledger_are_written_beside_the_text(
    answering: Answering, capsys: pytest.CaptureFixture[str]
) -> None:
    answering(explained_by_charge_air())
    run(["reconcile", "log.csv", "--json", "s.json", "--ledger", "l.parquet"])
    printed = capsys.readouterr().out
    assert printed.startswith("Hot charge air took")
    assert printed.endswith("Written    s.json and l.parquet\n")
    assert json.loads(Path("s.json").read_text())["format"] == "tuneledger-statement/1"
    assert pl.read_parquet("l.parquet").height == 1200


def test_without_an_account_no_ledger_is_written_and_that_is_said(
    answering: Answering, capsys: pytest.CaptureFixture[str]
) -> None:
    answering(no_delivered())
    assert run(["reconcile", "log.csv", "--ledger", "l.csv", "--json", "s.json"]) == 3
    assert "No ledger for l.csv" in capsys.readouterr().err
    assert not Path("l.csv").exists()
    assert Path("s.json").exists()


BAD_TARGETS = {
    "missing folder": (["--json", "no/s.json"], "the folder 'no' does not exist"),
    "a folder": (["--json", "."], "this is a folder"),
    "an input": (["--ledger", "log.csv"], "also an input"),
    "a roles file that is read": (["--roles", "log.csv", "--json", "log.csv"], "also an input"),
    "one place for two": (["--json", "x.csv", "--ledger", "x.csv"], "two outputs"),
    "an unknown ending": (["--ledger", "l.xlsx", "--json", "s.json"], ".csv, .parquet or .mf4"),
}


@pytest.mark.parametrize("name", BAD_TARGETS)
def test_an_output_that_cannot_be_written_is_refused_before_the_work(
    name: str,
    answering: Answering,
    calls: list[dict[str, object]],
    capsys: pytest.CaptureFixture[str],
) -> None:
    arguments, says = BAD_TARGETS[name]
    answering(explained_by_charge_air())
    assert run(["reconcile", "log.csv", *arguments]) == 2
    printed = capsys.readouterr()
    assert says in printed.err
    assert printed.out == ""
    assert calls == []
    assert [p.name for p in Path().iterdir()] == ["log.csv"]
    assert Path("log.csv").read_text() == "t,a\n0,1\n"


def test_faults_of_the_input_are_printed_as_sentences_and_nothing_is_written(
    answering: Answering, capsys: pytest.CaptureFixture[str]
) -> None:
    faults = [
        Fault("60 does not rise above 60", "rev-d.toml", "spark.correction[2].axes[0].at[3]"),
        Fault("unknown key 'colour'\x1b[2J", "rev-d.toml", "spark"),
    ]
    answering(SheetError(faults))
    assert run(["reconcile", "log.csv", "rev-d.toml", "--json", "s.json"]) == 2
    printed = capsys.readouterr()
    assert printed.err.splitlines() == [
        "rev-d.toml: spark.correction[2].axes[0].at[3]: 60 does not rise above 60",
        "rev-d.toml: spark: unknown key 'colour'\\x1b[2J",
    ]
    assert printed.out == ""
    assert not Path("s.json").exists()


def test_a_drafted_sheet_is_written_with_the_other_outputs(answering: Answering) -> None:
    answering(explained_by_charge_air())
    run(["reconcile", "log.csv", "--draft-sheet", "draft.toml", "--json", "said.json"])
    assert Path("draft.toml").read_text(encoding="utf-8").startswith("# NOT FOR LOADING")
    assert Path("said.json").exists()


def test_a_log_that_shows_no_map_gives_no_drafted_sheet_and_says_why(
    answering: Answering, capsys: pytest.CaptureFixture[str]
) -> None:
    answering(no_delivered())
    assert run(["reconcile", "log.csv", "--draft-sheet", "draft.toml"]) == 3
    assert not Path("draft.toml").exists()
    assert "No sheet for draft.toml" in capsys.readouterr().err


def test_a_reply_on_the_standard_output_stands_alone(
    answering: Answering, capsys: pytest.CaptureFixture[str]
) -> None:
    answering(no_delivered())
    run(["reconcile", "log.csv", "--reply", "-"])
    assert capsys.readouterr().out == reply(no_delivered())
    assert not Path("-").exists()


def test_the_json_and_the_reply_are_not_both_printed(
    answering: Answering, capsys: pytest.CaptureFixture[str]
) -> None:
    answering(no_delivered())
    assert run(["reconcile", "log.csv", "--reply", "-", "--json", "-"]) == 2
    assert "would both be printed" in capsys.readouterr().err


@pytest.mark.parametrize("option", ["--page", "--draft-sheet", "--save-roles"])
def test_what_cannot_be_printed_never_becomes_a_file_of_that_name(
    option: str, answering: Answering, capsys: pytest.CaptureFixture[str]
) -> None:
    answering(explained_by_charge_air())
    assert run(["reconcile", "log.csv", option, "-"]) == 2
    assert "cannot be printed" in capsys.readouterr().err
    assert not Path("-").exists()
