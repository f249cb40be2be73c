"""A channel in degrees carries its part though another rule acts all the time."""

import numpy as np
import pytest

from tests.explain.labelled import written
from tests.explain.parts import AIR, AT, LEVER, with_lever
from tests.explain.test_hidden_rules import stabs
from tests.runs import Run, along, charge_air, climb, sheet
from tuneledger.arrays import FloatArray
from tuneledger.evaluate.model import Evidence
from tuneledger.explain.model import Cause
from tuneledger.statement.model import Statement, SuppliedSheet

RUN = climb()
CURVE = (-1.0, -1.5, -3.0, -4.5)


def pulled(seed: int, step: float = -2.0, run: Run = RUN) -> FloatArray:
    """Knock retard under load: taken by steps at odd moments, given back slowly, in quarters."""
    odd, out, now = np.random.default_rng(seed), np.zeros(run.times.size), 0.0
    for i, plate in enumerate(run.signals["throttle position"]):
        if plate > 50 and odd.random() < 0.025:
            now = max(now + step, -8.0)
        now = min(now + 0.03, 0.0)
        out[i] = np.round(4.0 * now) / 4.0
    return out


def said(run: Run, *sheets: SuppliedSheet, unit: str = "deg") -> Statement:
    return written(run, *sheets, units={"Ping pull": unit, "Swivel": "deg"})


def of(statement: Statement, channel: str) -> list[Cause]:
    return [cause for cause in statement.causes if cause.channel == channel]


@pytest.mark.parametrize("sign", [1.0, -1.0])
@pytest.mark.parametrize("seed", [3, 11])
@pytest.mark.parametrize("unit", ["deg", ""])
def test_the_pull_is_found_beside_a_curve_that_acts_throughout_and_the_curve_too(
    seed: int, sign: float, unit: str
) -> None:
    pull = pulled(seed)
    run = RUN.post("pull", pull).post("air", along(RUN, AIR, AT, CURVE))
    statement = said(run.carry("Ping pull", sign * pull), unit=unit)
    (own,) = of(statement, "Ping pull")
    assert own.degrees == pytest.approx(pull[pull < -0.3].mean(), abs=0.2)
    assert any("moves by as much" in point.says for point in own.evidence)
    (other,) = (cause for cause in statement.causes if cause is not own)
    assert other.rule is not None
    assert other.rule.along is not None
    assert other.rule.along.channel == "Inlet temp"
    assert statement.verdict == "explained"
    entries = {e.evidence for episode in statement.episodes for e in episode.entries}
    assert entries == {Evidence.LOGGED, Evidence.INFERRED}


@pytest.mark.parametrize("seed", [2, 5])
def test_a_pull_that_is_small_beside_what_else_acts_is_found_by_its_many_moves(seed: int) -> None:
    """Four degrees by a lever and an engine speed, against one or two by the knock control."""
    run = with_lever(stabs(), (stabs().times % 17.0) < 7.0)
    pull = pulled(seed, -1.5, run)
    acts = (run.extra[LEVER] > 0) & (run.signals["engine speed"] > 3800.0)
    run = run.post("pull", pull).post("x", np.where(acts, -4.0, 0.0)).carry("Ping pull", pull)
    statement = said(run)
    assert len(of(statement, "Ping pull")) == 1
    (other,) = (cause for cause in statement.causes if cause.channel is None)
    assert other.rule is not None
    assert {condition["channel"] for condition in other.rule.when} == {"Rev", LEVER}
    assert statement.verdict == "explained"


def test_a_sheet_that_does_not_list_it_does_not_hide_it() -> None:
    pull = pulled(3)
    run = with_lever(RUN, (RUN.times % 9.0) < 4.0)
    on = run.extra[LEVER] > 0
    run = run.post("charge-air", along(RUN, AIR, AT, (0.0, 0.0, -3.0, -6.0))).post("pull", pull)
    run = run.post("hidden", np.where(on, -3.0, 0.0)).carry("Ping pull", pull)
    statement = said(run, sheet("rev-d.toml", "D", [charge_air((0.0, 0.0, -3.0, -6.0))]))
    assert len(of(statement, "Ping pull")) == 1
    assert {c.correction for c in statement.causes} == {"charge-air", None}
    assert any(f"{LEVER} is 1" in cause.says for cause in statement.causes)
    assert statement.verdict == "explained"


@pytest.mark.parametrize("share", [0.5, 2.0])
def test_a_channel_that_moves_by_another_amount_does_not_carry_it_as_it_stands(
    share: float,
) -> None:
    pull = pulled(3)
    run = RUN.post("pull", pull).post("air", along(RUN, AIR, AT, CURVE))
    statement = said(run.carry("Ping pull", share * pull))
    assert not any("moves by as much" in p.says for c in statement.causes for p in c.evidence)


def test_an_angle_that_moves_when_it_likes_carries_nothing() -> None:
    run = RUN.post("pull", pulled(3)).post("air", along(RUN, AIR, AT, CURVE))
    swivel = np.round(6.0 * np.sin(1.7 * RUN.times) - 5.0, 1)
    assert not of(said(run.carry("Swivel", swivel)), "Swivel")


def test_two_channels_carry_their_parts_beside_a_curve() -> None:
    first, second = pulled(3), pulled(29, step=-1.5)
    run = RUN.post("a", first).post("b", second).post("air", along(RUN, AIR, AT, CURVE))
    statement = said(run.carry("Ping pull", first).carry("Swivel", second))
    assert len(of(statement, "Ping pull")) == len(of(statement, "Swivel")) == 1
    assert statement.verdict == "explained"
