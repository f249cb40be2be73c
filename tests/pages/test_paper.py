"""The page's sums say which of several sheets is said to run, since their order decides it."""

from dataclasses import replace

from tests.statements import other_revision
from tuneledger.pages.paper import head


def test_of_several_sheets_the_first_is_said_to_run() -> None:
    assert "D (first) is said to run" in head(other_revision())


def test_one_sheet_is_just_what_was_handed_over() -> None:
    base = other_revision()
    alone = head(replace(base, sheets=base.sheets[:1]))
    assert "(first)" not in alone
    assert "D was handed over" in alone
