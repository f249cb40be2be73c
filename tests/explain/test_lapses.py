"""A channel falls silent for a while: what reads it is not computed, and is the first suspect."""

import numpy as np
import pytest

from tests.explain.parts import during
from tests.explain.told import told
from tests.runs import Run, charge_air, climb, sheet
from tuneledger.arrays import FloatArray
from tuneledger.statement.model import Statement

AIR = "intake air temperature"
DEGREES = (0.0, 0.0, -3.0, -6.0)
RUN = climb()
GAP = during(RUN, 26.0, 31.0)  # within the long pull
WARM = np.interp(RUN.times, [0, 60], [44.0, 72.0])


def with_air(air: FloatArray, took: FloatArray) -> Run:
    """The climb with such air logged and charge-air taking what it does at another."""
    taken = np.interp(took, (20.0, 40.0, 60.0, 80.0), DEGREES)
    run = RUN.post("charge-air", np.round(taken / 0.1) * 0.1)
    return Run(
        run.times, {**run.signals, AIR: air}, run.scheduled, run.regime, run.entries, run.extra
    )


def reconciled(air: FloatArray, took: FloatArray) -> Statement:
    return told(with_air(air, took), sheet("rev-a.toml", "A", [charge_air(DEGREES)]))


def test_a_gap_in_what_a_correction_reads_makes_no_other_rule_and_no_other_revision() -> None:
    statement = reconciled(np.where(GAP, np.nan, WARM), WARM)
    assert {cause.correction for cause in statement.causes} == {"charge-air"}
    assert statement.verdict == "explained"
    assert statement.running is not None
    assert (statement.running.best, statement.running.matches_supplied) == ("A", True)


def test_what_came_out_across_a_gap_is_told_with_the_gap_and_not_as_computed() -> None:
    statement = reconciled(np.where(GAP, np.nan, WARM), WARM)
    across = next(cause for cause in statement.causes if cause.entry is None)
    assert 0.8 <= across.certainty < 0.99
    assert "intake air temperature has no samples at 26.1 to 31.0 s" in across.says
    entry = next(e for e in statement.logs[0].ledger.entries if e.correction == "charge-air")
    assert np.isnan(entry.values[GAP]).all()


@pytest.mark.parametrize("lost", [GAP, during(RUN, 26.0, 61.0)], ids=["gap", "never came back"])
def test_what_went_otherwise_in_the_gap_is_suspected_and_its_channel_asked_for(
    lost: FloatArray,
) -> None:
    """The air grew hotter while nobody looked: the sheet may have done it, nothing shows it."""
    hotter = np.where(lost, WARM + 11.0, WARM)
    statement = reconciled(np.where(lost, np.nan, WARM), hotter)
    assert statement.verdict == "cannot tell"
    assert [need.what for need in statement.needs] == [AIR]
    assert {cause.correction for cause in statement.causes} == {"charge-air"}


def test_nothing_is_sure_where_nothing_follows_the_gap() -> None:
    late = during(RUN, 50.0, 61.0)
    steady = np.round(np.interp(RUN.times, [0, 25, 60], [44.0, 66.0, 66.0]), 1)
    statement = reconciled(np.where(late, np.nan, steady), steady)
    assert all(c.certainty < 0.8 for c in statement.causes if c.entry is None)


def test_more_than_the_correction_can_take_is_not_laid_to_it() -> None:
    statement = told(
        with_air(np.where(GAP, np.nan, WARM), WARM).post("x", np.where(GAP, -9.0, 0.0)),
        sheet("rev-a.toml", "A", [charge_air(DEGREES)]),
    )
    assert statement.verdict == "unexplained"


def test_a_gap_in_which_nothing_was_taken_is_asked_for_by_nobody() -> None:
    cold = np.full_like(WARM, 30.0)
    statement = reconciled(np.where(GAP, np.nan, cold), cold)
    assert statement.verdict == "agrees"
    assert statement.needs == ()
