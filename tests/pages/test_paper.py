"""The page's sums say which of several sheets is said to run, since their order decides it."""

from dataclasses import replace

from tests.statements import other_revision
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
