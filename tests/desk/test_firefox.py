"""The desk in Firefox as well: drop, read, choose, correct, rehearse, accept, save, open again."""

from pathlib import Path

import pytest

from tests.desk import test_browser, test_put_right, test_what_if_browser
from tests.desk.running import Desk
from tests.pages.browser import Reader


@pytest.fixture
def browser(firefox: Reader) -> Reader:
    return firefox


def test_dropped_files_are_read_and_every_degree_is_the_ledger_s(page: Reader) -> None:
    test_browser.test_dropped_files_are_read_and_every_degree_is_the_ledger_s(page)


def test_a_hostile_log_changes_nothing(page: Reader) -> None:
    test_browser.test_a_hostile_log_changes_nothing(page)


def test_a_channel_is_put_right_and_the_statement_changes(page: Reader) -> None:
    test_put_right.test_a_channel_is_put_right_and_the_statement_changes(page)


def test_a_correction_is_switched_off(page: Reader, open_desk: Desk, tmp_path: Path) -> None:
    same = test_what_if_browser
    same.test_a_correction_is_switched_off_and_what_would_be_delivered_is_the_rehearsal_s(
        page, open_desk, tmp_path
    )


def test_an_accepted_cause_is_saved_with_the_page(
    page: Reader, open_desk: Desk, tmp_path: Path
) -> None:
    same = test_what_if_browser
    same.test_a_saved_page_holds_notes_and_rehearsal_and_opens_without_the_desk(
        page, open_desk, tmp_path
    )
