"""A delivered advance that a logger has smoothed."""

import numpy as np
import pytest

from tests.explain.parts import LEVER, switched
from tests.explain.told import first
from tests.ledger.test_between import RATE_HZ, late, lively, note, told
from tests.runs import Run, sheet
from tuneledger.arrays import FloatArray
from tuneledger.ledger.smoothed import Smoothing

SHAPES = pytest.mark.parametrize(
    ("smoothing", "says"),
    [
        (Smoothing(True, 0.1), "a low pass of about 0.1"),
        (Smoothing(True, 0.3), "a low pass of about 0.3"),
        (Smoothing(False, 0.4), "a mean over about 0.4"),
        (Smoothing(False, 0.8), "a mean over about 0.8"),
    ],
)


def rounded(values: FloatArray) -> FloatArray:
    return np.round(values, 1)


def stabbed() -> Run:
    """The lively climb with a throttle that is stabbed now and then: the map falls and rises."""
    run = lively()
    stabs = np.where((run.times % 1.7 < 0.35) & (run.times > 9.0), -6.0, 0.0)
    return Run(run.times, run.signals, run.scheduled + stabs, run.regime)


def smoothed(run: Run, smoothing: Smoothing, taken: FloatArray | float = 0.0) -> FloatArray:
    return rounded(late(smoothing.of(run.scheduled + taken, 1.0 / RATE_HZ), 0.05))


@SHAPES
def test_smoothing_is_told_as_what_it_is(smoothing: Smoothing, says: str) -> None:
    run = stabbed()
    statement = told(run, rounded(run.scheduled), smoothed(run, smoothing))
    assert statement.verdict == "agrees"
    assert "smoothing apart" in statement.headline
    assert says in note(statement, "logged smoothed")
    assert "above scheduled under load" in note(statement, "logged smoothed")


def test_a_loss_in_a_smoothed_log_is_still_seen() -> None:
    run = stabbed()
    lost = np.where((run.times > 24.0) & (run.times < 25.5), -4.0, 0.0)
    statement = told(run, rounded(run.scheduled), smoothed(run, Smoothing(True, 0.1), lost))
    assert [round(one.start_s) for one in statement.episodes] == [24]
    assert first(statement).degrees == pytest.approx(-4.0, abs=0.8)


@pytest.mark.parametrize(
    "what", ["nothing", "switched", "ramped", "slow to rise", "against the swing"]
)
def test_what_an_ecu_takes_is_no_smoothing(what: str) -> None:
    run = stabbed()
    pulls = np.array([r == "load" for r in run.regime])
    swing = np.gradient(run.scheduled, 1.0 / RATE_HZ)
    taken = {
        "nothing": 0.0 * swing,
        "switched": np.where(pulls, -4.0, 0.0),
        "ramped": np.convolve(np.where(pulls, -6.0, 0.0), np.ones(200) / 200.0, mode="same"),
        "slow to rise": -np.clip(0.1 * swing, 0.0, 5.0),
        "against the swing": np.clip(0.05 * swing, -4.0, 0.0),
    }[what]
    statement = told(run, rounded(run.scheduled), rounded(late(run.scheduled + taken, 0.05)))
    assert not note(statement, "logged smoothed")
    assert (statement.verdict == "agrees") == (what == "nothing")


@SHAPES
def test_a_correction_that_comes_and_goes_is_smoothed_as_well(
    smoothing: Smoothing, says: str
) -> None:
    """Its edges are then no moments that nothing accounts for."""
    run = stabbed()
    edges = (15.0, 18.0, 30.0, 33.5)  # at full load, apart from the stabs
    on = np.digitize(run.times, edges) % 2 == 1
    given = smoothed(run, smoothing, np.where(on, -4.0, 0.0))
    sheets = (sheet("rev-d.toml", "D", [switched("wet", -4.0)]),)
    statement = told(run.carry(LEVER, on.astype(float)), rounded(run.scheduled), given, *sheets)
    assert says in note(statement, "logged smoothed")
    ledger = statement.logs[0].ledger
    assert ledger is not None
    for edge in edges:
        beside = np.abs(run.times - edge) < 1.0
        assert np.nanmax(np.abs(ledger.unaccounted[beside])) < 1.0
