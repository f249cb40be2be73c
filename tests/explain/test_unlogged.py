"""What the ECU followed may not be in the log: a rule that only happens to fit is not sure."""

from collections.abc import Iterator

import numpy as np

from tests.explain.parts import with_lever
from tests.explain.told import told
from tests.runs import Run, climb
from tuneledger.explain.model import SURE
from tuneledger.statement.model import Statement

RUN = climb(90.0)


def seldom(run: Run, stretches: list[tuple[float, float]]) -> np.ndarray:
    return np.any([(run.times >= a) & (run.times < b) for a, b in stretches], axis=0)


def slow_channels(run: Run, seed: int, how_many: int) -> Run:
    """Channels that drift by themselves, as pressures and temperatures do."""
    random = np.random.default_rng(seed)
    for number in range(how_many):
        steps = np.convolve(random.normal(size=run.times.size), np.ones(200) / 200, mode="same")
        run = run.carry(f"Bay {number}", np.round(60.0 + 40.0 * np.cumsum(steps) / 20.0, 1))
    return run


def statements() -> Iterator[Statement]:
    for seed in range(6):
        random = np.random.default_rng(100 + seed)
        start = sorted(random.uniform(10.0, 80.0, 2))
        stretches = [(float(s), float(s) + 3.0) for s in start]
        run = slow_channels(RUN, seed, 30)
        yield told(run.post("x", np.where(seldom(run, stretches), -4.0, 0.0)))


def test_stretches_that_nothing_logged_brings_about_make_no_sure_rule() -> None:
    sure = [c for s in statements() for c in s.causes if c.certainty >= SURE]
    assert sure == []


def test_the_doubt_is_told() -> None:
    against = [
        point.says
        for statement in statements()
        for cause in statement.causes
        for point in cause.evidence
        if point.speaks == "against"
    ]
    assert any("may not be in the log" in says for says in against)


def test_a_switch_that_turns_with_each_of_them_stays_sure_among_as_many_channels() -> None:
    on = seldom(RUN, [(15.0, 18.0), (40.0, 43.0), (60.0, 64.0)])
    run = slow_channels(with_lever(RUN, on), 3, 30).post("x", np.where(on, -4.0, 0.0))
    (cause,) = told(run).causes
    assert cause.kind == "hidden rule"
    assert cause.certainty >= SURE


def test_two_rules_with_one_amount_are_neither_of_them_sure() -> None:
    """One thing took 4° in three stretches; a switch happens to go with two of them, and another
    one with the third."""
    first, second = [(15.0, 18.0), (40.0, 43.0)], [(60.0, 64.0)]
    run = with_lever(RUN, seldom(RUN, first))
    run = run.carry("Rear lamp", seldom(RUN, second).astype(float))
    causes = told(run.post("x", np.where(seldom(RUN, first + second), -4.0, 0.0))).causes
    assert [cause.rule is not None for cause in causes] == [True, True]
    assert max(cause.certainty for cause in causes) < 0.5
    says = [point.says for cause in causes for point in cause.evidence if point.speaks == "against"]
    assert sum("one thing that the log does not hold" in one for one in says) == 2


def test_one_amount_in_every_regime_is_one_thing_that_was_not_logged() -> None:
    starts = np.sort(np.random.default_rng(9).uniform(2.0, 86.0, 9))
    on = seldom(RUN, [(float(s), float(s) + 4.0) for s in starts])
    causes = told(RUN.post("x", np.where(on, -4.5, 0.0))).causes
    (cause,) = [one for one in causes if one.kind == "unknown"]
    assert cause.says.startswith("Nothing supplied accounts for −4.5°, always as much, for ")
    assert "stretches whatever the engine did" in cause.says
    assert cause.next_step.startswith("Find out what came or went at ")
