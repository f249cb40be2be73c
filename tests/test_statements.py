"""The hand-made statements are what they say they are, or every test built on them is worthless."""

import math

import numpy as np
import pytest

from tests.statements import ALL
from tuneledger.statement.model import Statement

MADE = {name: make() for name, make in ALL.items()}


@pytest.mark.parametrize("statement", MADE.values(), ids=MADE)
def test_the_books_of_a_hand_made_statement_balance(statement: Statement) -> None:
    for episode in statement.episodes:
        entries = sum(entry.deg for entry in episode.entries)
        if math.isfinite(episode.unaccounted_deg) and episode.about == "delivery":
            assert episode.difference_deg == pytest.approx(entries + episode.unaccounted_deg)
    for books in statement.logs:
        if books.ledger is not None:
            left = books.ledger.unaccounted
            assert np.all(np.abs(left[np.isfinite(left)]) < 0.06)


@pytest.mark.parametrize("statement", MADE.values(), ids=MADE)
def test_causes_are_ranked_and_point_at_episodes_that_exist(statement: Statement) -> None:
    assert [c.rank for c in statement.causes] == list(range(1, len(statement.causes) + 1))
    for cause in statement.causes:
        assert all(0 <= i < len(statement.episodes) for i in cause.episodes)


def test_there_is_a_statement_of_every_verdict() -> None:
    verdicts = {s.verdict for s in MADE.values()}
    assert verdicts == {"agrees", "expected", "explained", "unexplained", "cannot tell"}
