"""The words that a page uses are explained on it, and in the docs in the same words."""

from pathlib import Path

import pytest

from tests.statements import other_revision
from tuneledger.pages import write_page
from tuneledger.pages.glossary import WORDS, glossary
from tuneledger.wording import visible

DOCS = Path(__file__).parents[2] / "docs" / "words.md"


@pytest.mark.parametrize(("word", "means"), WORDS)
def test_each_word_means_the_same_in_the_docs(word: str, means: str) -> None:
    assert f"| {word} | {means} |" in DOCS.read_text(encoding="utf-8")


@pytest.mark.parametrize("word", ["slip", "entry", "episode", "unaccounted", "evidence", "visits"])
def test_what_a_reader_may_not_know_is_explained_on_the_page(word: str) -> None:
    assert f"<dt>{word}</dt>" in glossary()


def test_the_page_holds_its_words_once() -> None:
    assert write_page(other_revision()).count('id="words"') == 1


def test_every_meaning_is_one_plain_line() -> None:
    assert all(visible(means) == means and not means.endswith(".") for _, means in WORDS)
