"""The page's sums say which of several sheets is said to run, since their order decides it."""

from dataclasses import replace

import pytest

from tests.pages.browser import Reader
from tests.statements import ALL, explained_by_charge_air, other_revision
from tuneledger.pages.causes import causes
from tuneledger.pages.names import cause_name
from tuneledger.pages.paper import head
from tuneledger.statement import facts


def test_of_several_sheets_the_first_is_said_to_run() -> None:
    assert "D (first) is said to run" in head(other_revision())


def test_one_sheet_is_just_what_was_handed_over() -> None:
    base = other_revision()
    alone = head(replace(base, sheets=base.sheets[:1]))
    assert "(first)" not in alone
    assert "D was handed over" in alone


def test_the_page_says_all_of_the_verdict_that_the_terminal_says() -> None:
    base = other_revision()
    doubtful = replace(base.causes[0], certainty=0.6, expected=False)
    statement = replace(base, verdict="explained", causes=(*base.causes, doubtful))
    assert "1 other cause is not" in facts.verdict(statement)
    assert "1 other cause is not" in head(statement)


def test_the_page_says_where_the_sheet_that_runs_does_not_account_for_all() -> None:
    base = explained_by_charge_air()
    assert base.running is not None
    assert "account for all" not in head(base)
    short = replace(base, running=replace(base.running, matches_supplied=False))
    assert "it does not account for all" in head(short)
    assert "that does not account for all" in facts.running(short)  # as the terminal has it


def test_a_cylinder_that_nobody_explains_is_called_by_its_channel() -> None:
    base = explained_by_charge_air()
    unknown = replace(
        base.causes[0], kind="unknown", correction=None, entry=None, revision=None,
        channel="Ignition cylinder 3",
    )  # fmt: skip
    assert cause_name(unknown, base) == "Unknown, Ignition cylinder 3"
    both = replace(unknown, channel=None, span=(-3.0, 2.0), degrees=-0.1)
    shown = causes(replace(base, causes=(unknown, both)))
    assert "−3.0° to +2.0°" in shown
    assert "both ways" in shown


@pytest.mark.parametrize("width", [800, 1000, 1300, 1700])
@pytest.mark.parametrize("name", ["other_revision", "two_logs", "crowded"])
def test_the_sums_stand_in_one_row_where_there_is_room(page: Reader, name: str, width: int) -> None:
    page.open(ALL[name](), width=width)
    tops = page.run(
        "const sums = [...document.querySelectorAll('.sums > div')];"
        "return sums.map((e) => e.getBoundingClientRect().top)"
    )
    assert len(tops) == 5
    assert len(set(tops)) == 1
