"""Delivered above scheduled under load never ends well; where nothing tells load, nor does it."""

from dataclasses import replace

import numpy as np
import pytest

from tests.explain.parts import AIR, during, only, pulling, switched, with_lever
from tests.explain.told import first, told
from tests.runs import Run, climb, sheet
from tuneledger.statement.model import Statement

RUN = climb()
WANTED = sheet("rev-d.toml", "D", [switched("extra", 6.0, expected="the owner says so")])
SLOW = replace(RUN, signals={"engine speed": 1450 + RUN.times})


def wanted_raise(run: Run, degrees: float = 6.0) -> Statement:
    """What is told of a raise that the owner wants, for the ten seconds of the pull."""
    return told(with_lever(run).post("extra", pulling(run, degrees)), WANTED)


@pytest.mark.parametrize("signals", [(), (AIR,), ("idle speed target",), ("engine speed",)])
def test_where_nothing_tells_load_a_wanted_raise_does_not_end_well(
    signals: tuple[str, ...],
) -> None:
    statement = wanted_raise(only(RUN, *signals))
    assert statement.exit_status != 0
    assert first(statement).raises_under_load


@pytest.mark.parametrize("rpm", [700.0, 1100.0, 1450.0, 1599.0])
def test_an_engine_that_labours_slowly_may_be_under_load(rpm: float) -> None:
    labouring = replace(RUN, signals={"engine speed": rpm + RUN.times})
    assert wanted_raise(labouring).exit_status != 0


def test_it_is_said_that_load_was_taken_for_granted() -> None:
    statement = wanted_raise(SLOW)
    assert any("tells" in note and "under load" in note for note in statement.notes)
    assert "nothing in the log tells load" in first(statement).next_step


def test_nothing_is_said_of_load_where_a_channel_tells_it() -> None:
    statement = wanted_raise(RUN)
    assert not any("tells" in note for note in statement.notes)
    assert "under load" in first(statement).next_step


def test_a_car_that_stands_at_idle_is_not_under_load() -> None:
    standing = replace(SLOW, signals={**SLOW.signals, "engine speed": 900 + RUN.times})
    run = with_lever(standing).post("extra", pulling(RUN, 6.0)).carry("Road speed", 0 * RUN.times)
    assert told(run, WANTED).raised_under_load  # the channel has no role here: nothing tells


def test_a_wanted_retard_ends_well_where_nothing_tells_load() -> None:
    less = sheet("rev-d.toml", "D", [switched("less", -6.0, expected="the owner says so")])
    run = with_lever(SLOW).post("less", pulling(RUN, -6.0))
    assert told(run, less).exit_status == 0


def test_two_small_wanted_raises_that_only_together_stand_above_scheduled_do_not_end_well() -> None:
    pair = [switched(name, 0.25, expected="wanted") for name in ("a", "b")]
    run = with_lever(RUN).post("a", pulling(RUN, 0.25)).post("b", pulling(RUN, 0.25))
    statement = told(run, sheet("rev-d.toml", "D", pair))
    assert statement.exit_status != 0
    assert {cause.correction for cause in statement.causes} == {"a", "b"}


@pytest.mark.parametrize("row", [600, 601, 910])
def test_one_row_of_a_wanted_raise_that_stands_out_does_not_end_well(row: int) -> None:
    rows = np.arange(RUN.times.size) == row
    run = with_lever(RUN, rows).post("extra", np.where(rows, 6.0, 0.0))
    assert told(run, WANTED).exit_status != 0


def test_where_the_load_channel_has_gaps_the_gaps_may_be_under_load() -> None:
    gone = during(RUN, 23.0, 35.0)
    names = ("manifold absolute pressure", "throttle position")
    missing = {name: np.where(gone, np.nan, RUN.signals[name]) for name in names}
    assert wanted_raise(replace(RUN, signals={**RUN.signals, **missing})).exit_status != 0
