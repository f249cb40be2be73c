"""An engine that stands still: no spark to speak of, nothing to judge, nothing to invent."""

from dataclasses import replace

import numpy as np
import pytest

from tests.explain.parts import DEG, during, every_episode_has_a_cause, switched, with_lever
from tests.explain.told import first, kinds, told, told_of
from tests.runs import Run, charge_air, climb, sheet
from tuneledger.arrays import BoolArray
from tuneledger.statement.model import SuppliedSheet

RUN = climb()
STALL = (28.0, 46.0)
BEFORE_AND_AFTER = (during(RUN, 24.0, 28.0)) | (during(RUN, 46.0, 49.0))
CLEAR_OF_IT = (during(RUN, 24.0, 27.0)) | (during(RUN, 47.0, 49.0))
THROUGHOUT = during(RUN, 24.0, 49.0)
ROWS = pytest.mark.parametrize(
    "rows",
    [BEFORE_AND_AFTER, CLEAR_OF_IT, THROUGHOUT],
    ids=["up to the stall", "clear of the stall", "through the stall"],
)
D = sheet("rev-d.toml", "D", [switched("wet-road", -3.0)])


def stalled(rows: BoolArray) -> Run:
    """The engine stands for eighteen seconds; three degrees are taken in the rows given."""
    speed = np.where(during(RUN, *STALL), 0.0, RUN.signals["engine speed"])
    run = replace(RUN, signals={**RUN.signals, "engine speed": speed})
    return run.post("wet-road", np.where(rows, -3.0, 0.0))


def spans(run: Run, *sheets: SuppliedSheet) -> list[bool]:
    """For each episode, whether it ends before the stall (True) or begins after it (False)."""
    out = []
    for episode in told(run, *sheets).episodes:
        assert episode.end_s <= STALL[0] or episode.start_s >= STALL[1]
        out.append(episode.end_s <= STALL[0])
    return out


@ROWS
def test_a_stall_between_two_stretches_leaves_two_episodes(rows: BoolArray) -> None:
    assert spans(with_lever(stalled(rows), rows), D) == [True, False]
    assert spans(with_lever(stalled(rows), rows)) == [True, False]
    assert spans(stalled(rows)) == [True, False]


@ROWS
def test_a_stall_invents_nothing_beside_the_correction(rows: BoolArray) -> None:
    statement = told(with_lever(stalled(rows), rows), D)
    assert kinds(statement) == ["correction"]
    assert first(statement).degrees == pytest.approx(-3.0)
    assert first(statement).episodes == (0, 1)
    assert statement.verdict == "explained"
    # Seconds in which the engine stood are nobody's.
    turning = rows & ~during(RUN, *STALL)
    assert first(statement).seconds == pytest.approx(turning.sum() / 20.0, abs=0.2)


@ROWS
def test_a_stall_invents_nothing_beside_a_rule_of_the_lever(rows: BoolArray) -> None:
    statement = told(with_lever(stalled(rows), rows))
    assert kinds(statement) == ["hidden rule"]
    assert first(statement).degrees == pytest.approx(-3.0, abs=0.1)


@ROWS
def test_a_stall_invents_no_unknown_where_nothing_tells_the_cause(rows: BoolArray) -> None:
    statement = told(stalled(rows))
    assert all(cause.degrees < 0 for cause in statement.causes)
    assert every_episode_has_a_cause(statement)


def test_an_engine_that_never_turned_has_no_episode_and_no_cause() -> None:
    trembling = 10.0 + 10.0 * np.sin(RUN.times)
    still = replace(RUN, signals={**RUN.signals, "engine speed": trembling})
    hot = sheet("rev-d.toml", "D", [charge_air(DEG)])
    for statement in (told(still), told(still, hot), told(still, hot, sheet("c.toml", "C"))):
        assert statement.episodes == ()
        assert statement.causes == ()
        assert statement.verdict == "cannot tell"
        assert "never turned" in statement.headline


def test_a_speed_that_stands_at_0_while_the_advance_moves_is_a_dead_channel() -> None:
    dead = replace(RUN, signals={**RUN.signals, "engine speed": 0.0 * RUN.times})
    statement = told(dead, sheet("rev-d.toml", "D", [charge_air(DEG)]))
    assert statement.verdict == "cannot tell"
    assert statement.causes == ()
    assert "Rev stands at 0 rpm all through run-1.csv" in statement.headline
    assert "the engine ran, and its speed was not logged" in statement.headline


@pytest.mark.parametrize("rpm", [0.0, 20.0, 49.0])
def test_an_engine_that_never_turned_shows_no_agreement(rpm: float) -> None:
    still = replace(RUN, signals={**RUN.signals, "engine speed": rpm + 0.0 * RUN.times})
    assert told(still).exit_status == 3


def test_agreement_is_claimed_only_for_as_long_as_the_engine_turned() -> None:
    speed = np.where(RUN.times < 50.0, 0.0, RUN.signals["engine speed"])
    headline = told(replace(RUN, signals={**RUN.signals, "engine speed": speed})).headline
    assert "for all 10 s" in headline


def test_a_log_in_which_the_engine_stood_does_not_hide_the_other() -> None:
    still = replace(RUN, signals={**RUN.signals, "engine speed": 0.0 * RUN.times})
    assert told_of([still, RUN]).verdict == "agrees"
    pulled = RUN.post("x", np.where(THROUGHOUT, -3.0, 0.0))
    assert told_of([still, pulled]).exit_status == 1
