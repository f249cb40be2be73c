"""An input at its threshold: what the stretch as a whole tells is told, the rest is left open."""

import numpy as np
import pytest

from tests.explain.parts import LEVER, during, oil_guard, pulling, with_lever
from tests.explain.told import first, kinds, told
from tests.runs import climb, sheet
from tuneledger.arrays import FloatArray
from tuneledger.statement.model import SuppliedSheet

RUN = climb()
RNG = np.random.default_rng(11)
SHAKE = RNG.standard_normal(RUN.times.size)


def water(mean: float, noise: float, places: int = 1) -> FloatArray:
    return np.round(mean + noise * SHAKE, places)


def hot(**more: object) -> SuppliedSheet:
    """Six degrees taken while the water is above 90."""
    when = [{"channel": "Water", "above": 90.0, **more}]
    return sheet("rev-d.toml", "D", [{"id": "hot", "amount": -6.0, "when": when}])


NEAR = pytest.mark.parametrize(
    ("mean", "noise", "places"), [(90.2, 0.3, 1), (90.4, 0.3, 2), (90.3, 0.5, 1), (91.0, 1.0, 0)]
)
AT = pytest.mark.parametrize(("mean", "noise", "places"), [(90.0, 0.05, 1), (90.02, 0.3, 1)])


@NEAR
@pytest.mark.parametrize("more", [{}, {"release": 89.0}, {"linger": 2.0}])
def test_a_stretch_that_as_a_whole_lies_beyond_the_threshold_leaves_no_doubt(
    mean: float, noise: float, places: int, more: dict[str, float]
) -> None:
    statement = told(RUN.carry("Water", water(mean, noise, places)), hot(**more))
    assert statement.exit_status == 1
    assert first(statement).correction == "hot"
    assert "the ECU did not" in first(statement).says


def test_whether_noise_reset_a_timer_cannot_be_told() -> None:
    """The ECU may have seen 90.2, or the same noise, which never stays above 90 for a second."""
    statement = told(RUN.carry("Water", water(90.2, 0.3)), hot(held=1.0))
    assert "cannot be told whether 'hot' should have acted" in statement.headline


@NEAR
def test_it_is_that_correction_where_it_acted_throughout(
    mean: float, noise: float, places: int
) -> None:
    run = RUN.post("hot", np.full(RUN.times.shape, -6.0)).carry("Water", water(mean, noise, places))
    statement = told(run, hot())
    assert [cause.correction for cause in statement.causes] == ["hot"]
    assert first(statement).degrees == pytest.approx(-6.0, abs=0.1)
    assert first(statement).certainty >= 0.8
    assert statement.running is not None
    assert statement.running.matches_supplied


@pytest.mark.parametrize("filtered_s", [0.0, 0.25, 1.0])
def test_it_is_that_correction_where_it_chattered(filtered_s: float) -> None:
    """The ECU saw the same water, at other moments or through a filter of its own."""
    other = 90.0 + 0.3 * np.random.default_rng(5).standard_normal(RUN.times.size)
    if filtered_s:
        rows = int(filtered_s * 20)
        other = np.convolve(other, np.ones(rows) / rows, mode="same")
    run = RUN.post("hot", np.where(other > 90.0, -6.0, 0.0)).carry("Water", water(90.0, 0.3))
    statement = told(run, hot())
    assert [cause.correction for cause in statement.causes] == ["hot"]
    assert not statement.raised_under_load


@AT
def test_where_it_cannot_be_resolved_agreement_says_so(
    mean: float, noise: float, places: int
) -> None:
    statement = told(RUN.carry("Water", water(mean, noise, places)), hot())
    assert statement.causes == ()
    assert "cannot be told whether 'hot' should have acted" in statement.headline
    assert any("'hot'" in note and "it did not" in note for note in statement.notes)


def test_passing_through_a_threshold_is_no_doubt_worth_a_word() -> None:
    warming = np.round(np.interp(RUN.times, [0, 60], [70, 89.5]) + 0.05 * SHAKE, 1)
    statement = told(RUN.carry("Water", warming), hot())
    assert statement.verdict == "agrees"
    assert "cannot be told" not in statement.headline


@pytest.mark.parametrize(
    ("mean", "noise", "raised"), [(90.0, 0.25, 5.0), (90.02, 0.6, 6.0), (89.5, 0.25, 2.0)]
)
def test_a_raise_is_told_as_large_as_it_was_beside_a_doubtful_retard(
    mean: float, noise: float, raised: float
) -> None:
    run = RUN.post("x", pulling(RUN, raised)).carry("Water", water(mean, noise))
    statement = told(run, hot())
    assert statement.headline.startswith("Stop")
    above = [c for c in statement.causes if c.raises_under_load]
    if any("did not" in cause.says for cause in statement.causes):
        return  # the retard surely stayed silent: what should have been is told beside it
    assert sum(c.degrees * c.seconds for c in above) == pytest.approx(10 * raised, abs=raised)


@pytest.mark.parametrize("above", [0.5, 0.7, 0.05, 0.95])
def test_a_flag_leaves_no_doubt(above: float) -> None:
    guard = oil_guard(-8.0, when=[{"channel": LEVER, "above": above}])
    statement = told(with_lever(RUN), sheet("rev-d.toml", "D", [guard]))
    assert statement.exit_status == 1
    assert first(statement).correction == "oil-guard"


@pytest.mark.parametrize("when", [{"above": 3.0}, {"above": 3.5}, {"above": 2.0, "release": 1.0}])
def test_a_gear_leaves_no_doubt(when: dict[str, float]) -> None:
    gear = np.where(RUN.times < 24, 2.0, np.where(RUN.times < 34, 4.0, 3.0))
    cut = {"id": "cut", "amount": -4.0, "when": [{"channel": "Gear no", **when}]}
    statement = told(RUN.carry("Gear no", gear), sheet("rev-d.toml", "D", [cut]))
    assert statement.exit_status == 1


def test_a_retard_in_third_is_not_excused_by_a_cut_from_fourth_up() -> None:
    gear = np.where(RUN.times < 24, 2.0, np.where(RUN.times < 34, 3.0, 2.0))
    cut = {"id": "cut", "amount": -4.0, "when": [{"channel": "Gear no", "above": 3.0}]}
    run = RUN.post("x", pulling(RUN, -4.0)).carry("Gear no", gear)
    statement = told(run, sheet("rev-d.toml", "D", [cut]))
    assert kinds(statement) != ["correction"]


def test_a_temperature_in_whole_degrees_at_its_threshold_is_settled_by_delivered() -> None:
    """Ninety as logged may be 90.4: that it acted from the moment it read ninety is no finding."""
    warming = np.interp(RUN.times, [0, 60], [85.0, 92.0])
    acted = np.where(warming > 90.0, -6.0, 0.0)
    run = RUN.post("hot", acted).carry("Water", np.floor(warming + 0.5))
    statement = told(run, hot())
    assert [cause.correction for cause in statement.causes] == ["hot"]
    assert statement.running is not None
    assert statement.running.matches_supplied
    assert max(abs(e.unaccounted_deg) for e in statement.episodes) < 0.3


def test_what_differs_beside_a_doubtful_stretch_is_not_hidden_by_it() -> None:
    run = RUN.post("x", np.where(during(RUN, 40.0, 44.0), -3.0, 0.0))
    statement = told(run.carry("Water", water(90.0, 0.3)), hot())
    assert sum(c.degrees * c.seconds for c in statement.causes) == pytest.approx(-12.0, abs=1.5)
