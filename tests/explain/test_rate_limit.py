"""A delivered advance that the ECU lets move by only so many degrees a second."""

from collections.abc import Mapping
from dataclasses import replace

import numpy as np
import pytest

from tests.explain.parts import LEVER, switched
from tests.ledger.test_between import RATE_HZ, lively, told
from tests.ledger.test_smoothed import stabbed
from tests.runs import Run, sheet
from tuneledger.arrays import FloatArray
from tuneledger.explain.model import RATE
from tuneledger.statement.model import Statement

# Wanted on and off at full load, apart from the stabs.
EDGES = (10.0, 13.0, 15.0, 18.0, 30.0, 33.5)


def followed(values: FloatArray, up: float, down: float) -> FloatArray:
    """What follows these values by so many degrees a second at most."""
    out, at = [], float(values[0])
    for value in values.tolist():
        at = min(max(value, at - down / RATE_HZ), at + up / RATE_HZ)
        out.append(at)
    return np.array(out)


def thinned(run: Run, every: int) -> Run:
    """The run as a logger writes it that takes one row of so many."""

    def of(columns: Mapping[str, FloatArray]) -> dict[str, FloatArray]:
        return {name: values[::every] for name, values in columns.items()}

    return Run(
        run.times[::every],
        of(run.signals),
        run.scheduled[::every],
        run.regime[::every],
        extra=of(run.extra),
    )


def statement(up: float, down: float, every: int, *, listed: bool = True) -> Statement:
    """On a run in which a lever takes 4.5°, as the sheet has it or as no file has it."""
    run = stabbed()
    run = replace(run, scheduled=np.minimum(run.scheduled, 37.5))  # within the sheet's limits
    on = np.digitize(run.times, EDGES) % 2 == 1
    given = followed(run.scheduled + np.where(on, -4.5, 0.0), up, down)
    log = thinned(run.carry(LEVER, on.astype(float)), every)
    sheets = (sheet("rev-d.toml", "D", [switched("wet", -4.5)] if listed else []),)
    return told(log, np.round(log.scheduled, 1), np.round(given[::every], 1), *sheets)


@pytest.mark.parametrize(
    ("up", "down", "every", "says"),
    [
        (30.0, 30.0, 20, "at most 30°/s"),
        (25.0, 40.0, 4, "25°/s up and 40°/s down"),
        (20.0, np.inf, 10, "20°/s up"),
    ],
)
def test_a_limit_on_how_fast_it_moves_is_told_and_accuses_no_correction(
    up: float, down: float, every: int, says: str
) -> None:
    found = statement(up, down, every)
    limit = next(cause for cause in found.causes if cause.entry == RATE)
    assert says in limit.says
    wet = next(cause for cause in found.causes if cause.correction == "wet")
    assert wet.degrees == pytest.approx(-4.5, abs=0.1)
    assert limit.certainty > 0.9
    assert not any("did not" in cause.says or "rule" in cause.says for cause in found.causes)
    ledger = found.logs[0].ledger
    assert ledger is not None
    left = np.abs(ledger.unaccounted) > ledger.tolerance + ledger.slack + ledger.edge_slack
    assert left.mean() < 0.01


def test_delivered_that_falls_too_slowly_stands_above_scheduled() -> None:
    found = statement(30.0, 30.0, 10)
    assert found.headline.startswith("Stop: delivered is up to")
    assert found.causes[0].entry == RATE
    assert found.causes[0].raises_under_load


def test_a_rule_that_nobody_listed_is_found_beside_the_limit() -> None:
    found = statement(40.0, 40.0, 10, listed=False)
    rule = next(cause for cause in found.causes if cause.kind == "hidden rule")
    assert rule.degrees == pytest.approx(-4.5, abs=0.2)
    assert LEVER in rule.says


@pytest.mark.parametrize("listed", [True, False])
def test_a_correction_that_comes_slowly_is_no_limit(listed: bool) -> None:
    run, per_s = lively(), 30.0
    on = np.digitize(run.times, EDGES) % 2 == 1
    taken = followed(np.where(on, -4.5, 0.0), per_s, per_s)
    log = run.carry(LEVER, on.astype(float))
    sheets = (sheet("rev-d.toml", "D", [switched("wet", -4.5, ramp=per_s)]),) if listed else ()
    found = told(log, np.round(run.scheduled, 1), np.round(run.scheduled + taken, 1), *sheets)
    assert all(cause.entry != RATE for cause in found.causes)
