"""Widths of text in terminal cells: those that are told without the library are what it says."""

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st
from rich.cells import cell_len

from tuneledger.statement.paper import cells_in, wrapped

WORDS = ("−4.0° at 190 kPa", "Zündung", "Зажигание", "点火時期", "e\u0301té", "→ ── ×", "😀 °C")


@pytest.mark.parametrize("text", WORDS)
def test_a_text_is_as_wide_as_the_library_says(text: str) -> None:
    assert cells_in(text) == cell_len(text)


@given(st.text(max_size=40))
def test_any_text_is_as_wide_as_the_library_says(text: str) -> None:
    assert cells_in(text) == cell_len(text)


def test_every_sign_that_is_told_without_it_takes_one_cell() -> None:
    from tuneledger.statement.paper import _NARROW

    for code in range(0x20, 0x3000):
        if _NARROW.fullmatch(chr(code)):
            assert cell_len(chr(code)) == 1, hex(code)


@given(st.lists(st.sampled_from([*WORDS, "a", "longer words", "x" * 50]), max_size=12))
def test_no_line_is_wider_than_it_may_be_and_no_word_is_lost(parts: list[str]) -> None:
    text = " ".join(parts)
    lines = wrapped(text, 24)
    assert all(cell_len(line) <= 24 for line in lines)
    assert re.sub(r"\s", "", "".join(lines)) == re.sub(r"\s", "", text)
