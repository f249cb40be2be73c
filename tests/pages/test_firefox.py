"""The page in Firefox as well: the same readers, the same numbers."""

from collections.abc import Callable

import pytest

from tests.pages import test_arranging, test_moving, test_reading, test_two_logs
from tests.pages.browser import Reader
from tests.pages.climbs import busy, hostile

SAME: list[Callable[[Reader], None]] = [
    test_reading.test_a_hostile_channel_name_is_shown_as_text,
    test_reading.test_strips_show_the_sample_of_the_log_itself,
    test_reading.test_choosing_a_cause_goes_there_and_brings_up_what_proves_it,
    test_reading.test_choosing_a_cell_lists_its_visits_and_a_visit_goes_there,
    test_reading.test_the_slip_copies_as_text,
    test_moving.test_the_wheel_zooms_about_the_pointer,
    test_moving.test_a_drag_moves_along_and_a_double_click_goes_back,
    test_moving.test_a_click_holds_the_slip_and_escape_lets_it_go,
    test_moving.test_keys_do_all_of_it,
    test_arranging.test_a_few_letters_bring_up_a_strip_that_can_be_moved_and_removed,
    test_arranging.test_pressures_and_temperatures_turn_for_the_whole_page,
    test_arranging.test_a_cause_is_accepted_with_a_reason_and_saved_as_a_file,
    test_arranging.test_a_reload_comes_back_to_what_was_looked_at,
    test_two_logs.test_a_second_log_stands_beside_at_the_same_time,
]


@pytest.fixture
def fox(firefox: Reader) -> Reader:
    firefox.own = ()
    return firefox


@pytest.mark.parametrize("same", SAME, ids=lambda same: same.__name__.removeprefix("test_"))
def test_what_holds_in_one_browser_holds_here(fox: Reader, same: Callable[[Reader], None]) -> None:
    same(fox)


@pytest.mark.parametrize("share", [0.03, 0.305, 0.96])
def test_the_slip_says_what_the_ledger_says_at_that_row(fox: Reader, share: float) -> None:
    test_reading.test_the_slip_says_what_the_ledger_says_at_that_row(fox, share)


@pytest.mark.parametrize("made", [busy, hostile])
def test_a_page_opens_from_disk_without_complaint_or_request(
    fox: Reader, made: Callable[[], object]
) -> None:
    test_reading.test_a_page_opens_from_disk_without_complaint_or_request(fox, made.__name__)


def test_the_lines_are_on_the_paper(fox: Reader) -> None:
    """Dark pixels lie in every strip on the screen, and the picture shown is the one drawn."""
    fox.open(busy())
    fox.until(lambda: fox.run("return document.querySelector('#board .sheet canvas').hidden"))
    shown, columns = fox.run(
        "const c = document.querySelector('#board .sheet canvas');"
        "const { data } = c.getContext('2d').getImageData(0, 0, c.width, c.height);"
        "const dark = new Set();"
        "for (let i = 0; i < data.length; i += 4) if (data[i] < 80 && data[i + 3])"
        "  dark.add((i / 4) % c.width);"
        "return [c.nextSibling.width === c.width, dark.size / c.width]"
    )
    assert shown
    assert columns > 0.95
