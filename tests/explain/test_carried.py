"""Channels that are said to carry a correction: believed where they do, told where they do not."""

import numpy as np
import pytest

from tests.explain.parts import AIR, AT, DEG, during, pulling, switched, with_lever
from tests.explain.told import first, kinds, told
from tests.runs import along, charge_air, climb, governor, sheet
from tuneledger.arrays import FloatArray
from tuneledger.evaluate.model import Evidence

RUN = climb()
TAKEN = along(RUN, AIR, AT, DEG)
HOT = {**charge_air(DEG), "logged_as": "Share"}
DEAD = np.zeros(RUN.times.shape)
STRAY = np.round(2.0 * np.sin(RUN.times), 1)
KNOCK = {"id": "knock", "reason": "knock", "logged_as": "Ping pull"}


@pytest.mark.parametrize("channel", [DEAD, STRAY], ids=["all zero", "something else"])
def test_what_the_sheet_computes_stands_where_the_channel_does_not_carry_it(
    channel: FloatArray,
) -> None:
    run = RUN.post("charge-air", TAKEN).carry("Share", channel)
    statement = told(run, sheet("rev-d.toml", "D", [HOT]))
    assert statement.verdict == "explained"
    assert first(statement).correction == "charge-air"
    assert first(statement).channel is None
    evidence = {e.evidence for episode in statement.episodes for e in episode.entries}
    assert evidence == {Evidence.COMPUTED}


@pytest.mark.parametrize("channel", [DEAD, STRAY, -0.5 * TAKEN], ids=["zero", "stray", "half"])
def test_a_note_says_that_the_channel_does_not_carry_it(channel: FloatArray) -> None:
    run = RUN.post("charge-air", TAKEN).carry("Share", channel)
    statement = told(run, sheet("rev-d.toml", "D", [HOT]))
    assert any("Share" in note and "charge-air" in note for note in statement.notes)


def test_no_note_speaks_of_a_channel_that_carries_it() -> None:
    run = RUN.post("charge-air", TAKEN).carry("Share", TAKEN)
    statement = told(run, sheet("rev-d.toml", "D", [HOT]))
    assert not any("does not carry" in note for note in statement.notes)


@pytest.mark.parametrize("sign", [1.0, -1.0])
def test_a_channel_that_does_carry_it_is_the_evidence_in_either_sign(sign: float) -> None:
    run = RUN.post("charge-air", TAKEN).carry("Share", sign * TAKEN)
    statement = told(run, sheet("rev-d.toml", "D", [HOT]))
    assert first(statement).channel == "Share"
    assert first(statement).degrees < 0
    evidence = {e.evidence for episode in statement.episodes for e in episode.entries}
    assert evidence == {Evidence.LOGGED}


@pytest.mark.parametrize("sign", [1.0, -1.0])
@pytest.mark.parametrize("beside", [5.0, -5.0])
@pytest.mark.parametrize("pulled", [-2.0, -7.0])
def test_a_carried_pull_keeps_its_sign_beside_a_larger_correction(
    pulled: float, beside: float, sign: float
) -> None:
    pull = np.where(during(RUN, 26.0, 30.0), pulled, 0.0)
    run = with_lever(RUN).post("extra", pulling(RUN, beside)).post("knock", pull)
    statement = told(
        run.carry("Ping pull", sign * pull),
        sheet("rev-d.toml", "D", [KNOCK, switched("extra", beside)]),
    )
    found = {cause.correction: cause.degrees for cause in statement.causes}
    assert found == {"knock": pytest.approx(pulled), "extra": pytest.approx(beside)}
    assert kinds(statement) == ["correction", "correction"]
    assert statement.verdict == "explained"


def test_a_channel_that_hardly_moves_carries_nothing() -> None:
    tyre = np.round(1.5 + 0.03 * np.sin(RUN.times / 5.0), 2)
    statement = told(RUN.post("x", np.full(RUN.times.shape, 1.5)).carry("Tyre rear", tyre))
    assert not [cause for cause in statement.causes if cause.channel == "Tyre rear"]


@pytest.mark.parametrize("sign", [1.0, -1.0])
def test_a_channel_carries_its_part_where_something_else_is_left_over_at_other_times(
    sign: float,
) -> None:
    pull = np.round(pulling(RUN, -5.0) * (1.0 + 0.3 * np.sin(RUN.times)), 1)
    run = RUN.post("idle", governor(RUN)).post("pull", pull).carry("Guard share", sign * pull)
    statement = told(run)
    carried, idle = statement.causes
    assert carried.channel == "Guard share"
    assert carried.degrees == pytest.approx(pull[pull < 0].mean(), abs=0.1)
    assert idle.expected
    assert statement.verdict == "explained"


def test_a_number_without_a_unit_that_is_as_large_for_a_while_carries_no_part() -> None:
    run = RUN.post("idle", governor(RUN)).post("pull", pulling(RUN, -5.0))
    statement = told(run.carry("Mode", np.where(pulling(RUN, -5.0) < 0, 5.0, 0.0)))
    assert not [cause for cause in statement.causes if cause.channel == "Mode"]
