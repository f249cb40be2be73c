"""Stretches in which delivered and scheduled disagree, or something is unaccounted."""

import numpy as np
import pytest

from tuneledger.arrays import FloatArray
from tuneledger.evaluate.model import Evidence
from tuneledger.ledger.episodes import _all_expected, departures, seconds, unaccounted_runs
from tuneledger.ledger.model import Entry, Ledger


def ledger(difference: FloatArray, *entries: FloatArray, **changes: object) -> Ledger:
    """A ledger at 20 Hz whose delivered departs from 20° by `difference`."""
    rows = difference.size
    base = {
        "quantity": "spark advance",
        "unit": "deg",
        "combine": "sum",
        "times": np.arange(rows) / 20.0,
        "scheduled": np.full(rows, 20.0),
        "delivered": 20.0 + difference,
        "entries": tuple(
            Entry(f"entry-{i}", values, Evidence.COMPUTED) for i, values in enumerate(entries)
        ),
        "own": np.ones(rows, dtype=np.bool_),
        "void": np.zeros(rows, dtype=np.bool_),
        "slack": np.zeros(rows),
        "tolerance": 0.3,
        "regime": ("load",) * rows,
    }
    return Ledger(**{**base, **changes})  # type: ignore[arg-type]


def block(rows: int, *stretches: tuple[int, int, float]) -> FloatArray:
    out = np.zeros(rows)
    for first, last, deg in stretches:
        out[first : last + 1] = deg
    return out


def test_a_clear_difference_is_one_episode_from_its_first_row_to_its_last() -> None:
    assert departures(ledger(block(100, (30, 60, -3.0)))) == [(30, 60)]


def test_what_stays_within_tolerance_is_no_episode() -> None:
    assert departures(ledger(block(100, (30, 60, -0.3)))) == []


def test_a_difference_within_the_slack_of_a_slope_is_no_episode() -> None:
    steep = np.where(np.arange(100) // 10 % 2, 2.0, 0.0)
    assert departures(ledger(block(100, (30, 60, -1.0)), slack=steep)) != []
    assert departures(ledger(block(100, (30, 60, -1.0)), slack=np.full(100, 2.0))) == []


def test_two_stretches_a_tenth_of_a_second_apart_are_one() -> None:
    assert departures(ledger(block(100, (30, 40, -3.0), (43, 60, -3.0)))) == [(30, 60)]
    assert len(departures(ledger(block(100, (30, 40, -3.0), (60, 70, -3.0))))) == 2


def test_a_single_row_counts_where_it_stands_out_and_scheduled_is_steady() -> None:
    assert departures(ledger(block(100, (50, 50, -4.0)))) == [(50, 50)]


def test_a_single_row_on_a_jump_of_scheduled_is_an_edge_between_two_samples() -> None:
    jump = np.where(np.arange(100) < 50, 20.0, 26.0)
    apart = block(100, (50, 50, -4.0))
    made = ledger(apart, scheduled=jump, delivered=jump + apart, slack=np.full(100, 3.0))
    assert departures(made) == []


def test_void_rows_and_rows_without_a_sample_of_their_own_belong_to_nothing() -> None:
    void = np.arange(100) < 70
    assert departures(ledger(block(100, (30, 60, -3.0)), void=void)) == []
    own = np.zeros(100, dtype=np.bool_)
    assert departures(ledger(block(100, (30, 60, -3.0)), own=own)) == []


def test_an_entry_that_accounts_for_the_difference_leaves_nothing_over() -> None:
    taken = block(100, (30, 60, -3.0))
    made = ledger(taken, taken)
    assert departures(made) == [(30, 60)]
    assert unaccounted_runs(made) == []


def test_entries_that_cancel_what_was_delivered_are_an_episode_too() -> None:
    made = ledger(np.zeros(100), block(100, (30, 60, -3.0)))
    assert departures(made) == [(30, 60)]


def test_an_entry_one_row_late_is_not_held_against_it() -> None:
    made = ledger(block(100, (30, 60, -3.0)), block(100, (31, 61, -3.0)))
    assert unaccounted_runs(made) == []


def test_what_cannot_be_computed_is_not_unaccounted() -> None:
    unknown = np.full(100, np.nan)
    assert unaccounted_runs(ledger(block(100, (30, 60, -3.0)), unknown)) == []


def test_runs_last_from_their_first_row_to_the_end_of_their_last() -> None:
    times = np.arange(100) / 20.0
    assert seconds([(0, 19), (40, 40)], times, 0.05) == pytest.approx(1.05)


def test_what_nothing_computed_accounts_for_is_never_expected() -> None:
    idle = Entry("idle", block(100, (30, 60, -0.1)), Evidence.COMPUTED, expected="idle work")
    blind = Entry("oil", np.full(100, np.nan), Evidence.COMPUTED)  # what it reads is not logged
    taken, ordinary = block(100, (30, 60, -3.0)), block(100, (30, 60, -0.1))
    assert not _all_expected(ledger(taken, entries=(idle, blind)), slice(30, 61))
    assert _all_expected(ledger(ordinary, entries=(idle, blind)), slice(30, 61))
