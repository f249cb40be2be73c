"""What is left over as the sum of two or three channels, in any sign, scale and lag."""

import numpy as np
import pytest

from tests.explain.parts import during
from tests.explain.told import told
from tests.runs import Run, climb
from tuneledger.arrays import FloatArray
from tuneledger.evaluate.model import Evidence

RUN = climb()
EARLY, LATE, BRIEF = during(RUN, 10, 19), during(RUN, 15, 34), during(RUN, 41, 50)


def share(rows: FloatArray, size: float, pace: float) -> FloatArray:
    """A contribution that moves while it acts, as a knock control's or an air correction's does."""
    return np.round(np.where(rows, -size + 0.8 * np.sin(pace * RUN.times), 0.0), 1)


ONE, TWO = share(EARLY, 3.0, 1.1), share(LATE, 2.5, 0.7)
THREE = share(BRIEF, 2.0, 1.7)


def carrying(run: Run, **channels: FloatArray) -> Run:
    for name, values in channels.items():
        run = run.carry(name, values)
    return run


@pytest.mark.parametrize(("sign", "other"), [(1.0, 1.0), (-1.0, 1.0), (-1.0, -1.0)])
def test_two_channels_together_carry_the_difference_in_any_sign(sign: float, other: float) -> None:
    run = carrying(RUN.post("x", ONE + TWO), Aa=sign * ONE, Bb=other * TWO)
    statement = told(run)
    assert {cause.channel for cause in statement.causes} == {"Aa", "Bb"}
    assert all(cause.degrees < 0 for cause in statement.causes)
    assert statement.verdict == "explained"
    evidence = {e.evidence for episode in statement.episodes for e in episode.entries}
    assert evidence == {Evidence.LOGGED}


def test_three_channels_together_carry_it() -> None:
    run = carrying(RUN.post("x", ONE + TWO + THREE), Aa=ONE, Bb=-TWO, Cc=THREE)
    assert {cause.channel for cause in told(run).causes} == {"Aa", "Bb", "Cc"}


def test_a_channel_in_tenths_carries_it_with_its_scale() -> None:
    run = carrying(RUN.post("x", ONE + TWO), Aa=-10.0 * ONE, Bb=TWO)
    causes = {cause.channel: cause for cause in told(run).causes}
    assert set(causes) == {"Aa", "Bb"}
    rule = causes["Aa"].rule
    assert rule is not None
    assert rule.along is not None
    slope = (rule.along.deg[-1] - rule.along.deg[0]) / (rule.along.at[-1] - rule.along.at[0])
    assert slope == pytest.approx(-0.1, rel=0.03)


def test_a_late_channel_still_carries_it() -> None:
    run = carrying(RUN.post("x", ONE + TWO), Aa=np.roll(ONE, 2), Bb=TWO)
    assert {cause.channel for cause in told(run).causes} == {"Aa", "Bb"}


def test_one_channel_that_carries_it_alone_needs_no_second() -> None:
    run = carrying(RUN.post("x", ONE), Aa=ONE, Bb=TWO)
    assert [cause.channel for cause in told(run).causes] == ["Aa"]


@pytest.mark.parametrize("seed", [2, 4])
def test_channels_that_carry_nothing_are_not_named(seed: int) -> None:
    rng = np.random.default_rng(seed)
    strays = {f"S{i}": np.round(np.cumsum(rng.normal(0, 0.3, RUN.times.size)), 1) for i in range(6)}
    strays |= {f"T{i}": share(during(RUN, a, a + 6), 3.0, 0.9) for i, a in enumerate((2, 20, 52))}
    statement = told(carrying(RUN.post("x", ONE + TWO), **strays))
    assert not {c.channel for c in statement.causes} & set(strays)
