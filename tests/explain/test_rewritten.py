"""A correction of the sheet that acts with other numbers than the sheet's is one cause, not two."""

from dataclasses import replace

import numpy as np
import pytest

from tests.explain.parts import AIR, AT, LEVER, during, switched, with_lever
from tests.explain.told import told
from tests.runs import Run, along, charge_air, climb, sheet
from tuneledger.arrays import BoolArray
from tuneledger.statement.model import SuppliedSheet

RUN = climb()
WRITTEN = (0.0, 0.0, -1.0, -2.0)


@pytest.mark.parametrize("times", [2.0, 2.5, 4.0])
def test_a_table_with_larger_numbers_is_that_correction_and_no_rule_beside_it(times: float) -> None:
    posted = along(RUN, AIR, AT, [times * deg for deg in WRITTEN])
    statement = told(RUN.post("x", posted), sheet("rev-d.toml", "D", [charge_air(WRITTEN)]))
    (cause,) = statement.causes
    assert cause.correction == "charge-air"
    assert "not with the numbers that revision D has" in cause.says


def test_it_is_so_too_where_another_channel_would_say_it_with_fewer_points() -> None:
    posted = along(RUN, AIR, AT, [3.0 * deg for deg in WRITTEN])
    run = RUN.carry("Mixture aim", np.round(1.0 + posted / 60.0, 3)).post("x", posted)
    statement = told(run, sheet("rev-d.toml", "D", [charge_air(WRITTEN)]))
    (cause,) = statement.causes
    assert cause.correction == "charge-air"
    assert cause.rule is not None
    assert cause.rule.along is not None
    assert cause.rule.along.channel == "Air in"


def warming_and_cooling(*, low: float = 36.0, high: float = 56.0) -> Run:
    """The climb with intake air that goes up and down all the time, each time to another height."""
    t = RUN.times
    tops = np.array([high, high - 6.0, high - 2.0, high - 7.0, high, high - 4.0])
    turns = np.linspace(t[0], t[-1], 2 * tops.size + 1)
    ends = np.full(turns.size, low)
    ends[1::2] = tops
    return replace(RUN, signals={**RUN.signals, AIR: np.round(np.interp(t, turns, ends), 1)})


def held(run: Run, above: float, release: float) -> BoolArray:
    """Where a guard with hysteresis acts, row by row."""
    on, out = False, []
    for air in run.signals[AIR]:
        on = air > above or (on and air >= release)
        out.append(on)
    return np.array(out)


def guard(above: float, release: float) -> SuppliedSheet:
    limits = {"signal": AIR, "unit": "degC", "above": above, "release": release}
    return sheet("rev-d.toml", "D", [{"id": "air-guard", "amount": -4.0, "when": [limits]}])


@pytest.mark.parametrize(("above", "release"), [(47.0, 44.0), (46.0, 40.0), (48.5, 47.0)])
@pytest.mark.parametrize(("said", "until"), [(52.0, 44.0), (53.0, 50.0)])
def test_a_guard_with_another_threshold_and_hysteresis_is_that_guard_with_other_numbers(
    above: float, release: float, said: float, until: float
) -> None:
    run = warming_and_cooling()
    acts = held(run, above, release)
    statement = told(run.post("x", np.where(acts, -4.0, 0.0)), guard(said, until))
    (cause,) = statement.causes
    assert cause.correction == "air-guard"
    assert "not with the numbers that revision D has" in cause.says
    assert cause.rule is not None
    (condition,) = cause.rule.when
    assert condition["channel"] == "Air in"
    assert condition["above"] == pytest.approx(above, abs=0.6)
    assert statement.verdict == "explained"


def test_a_guard_that_by_its_sheet_never_had_to_act_is_that_guard_where_it_did() -> None:
    run = warming_and_cooling()
    acts = held(run, 47.0, 44.0)
    statement = told(run.post("x", np.where(acts, -4.0, 0.0)), guard(65.0, 60.0))
    (cause,) = statement.causes
    assert cause.correction == "air-guard"
    assert "not with the numbers that revision D has" in cause.says


def test_a_rule_of_another_amount_or_channel_is_no_guard_that_never_had_to_act() -> None:
    run = warming_and_cooling()
    acts = held(run, 47.0, 44.0)
    statement = told(run.post("x", np.where(acts, -7.0, 0.0)), guard(65.0, 60.0))
    assert all(cause.correction is None for cause in statement.causes)


@pytest.mark.parametrize("seed", range(3))
def test_a_correction_that_does_what_the_sheet_says_is_not_written_anew(seed: int) -> None:
    """Something else shakes delivered now and then; the switch still takes its three degrees."""
    run, rng = with_lever(RUN), np.random.default_rng(seed)
    shakes = 0.6 * rng.choice([-1.0, 1.0], RUN.times.size) * (rng.random(RUN.times.size) < 0.2)
    taken = np.where(run.extra[LEVER] > 0.5, -3.0, 0.0)
    run = run.post("lever", taken).post("x", np.where(during(RUN, 20.0, 45.0), shakes, 0.0))
    statement = told(run, sheet("rev-d.toml", "D", [switched("lever", -3.0)]))
    (own,) = (cause for cause in statement.causes if cause.correction == "lever")
    assert own.kind == "correction"
    assert own.degrees == pytest.approx(-3.0, abs=0.15)
