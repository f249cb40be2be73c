"""A channel that goes round its byte is put right where its course or a sheet leaves no doubt."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.explain.labelled import written
from tests.explain.parts import LEVER, during, with_lever
from tests.runs import Run, climb, sheet
from tuneledger.arrays import FloatArray
from tuneledger.explain.model import SURE
from tuneledger.roles.folded import Fold, by_its_course

HELD = -4.0


def round_by(span: float, lowest: float, values: FloatArray) -> FloatArray:
    """The numbers as a channel sends them that begins at `lowest` and holds one range."""
    return (values - lowest) % span + lowest


@given(
    power=st.sampled_from([7, 8, 10]),
    step=st.sampled_from([0.25, 0.5, 1.0]),
    below=st.floats(0.05, 0.3),
    seed=st.integers(0, 99),
)
def test_a_course_that_leaps_by_a_range_is_followed(
    power: int, step: float, below: float, seed: int
) -> None:
    span = step * 2**power
    swing = 0.3 * span * (np.sin(np.linspace(0.0, 20.0, 2000) + seed) + 1.0) - below * span
    true = np.round(swing / step) * step
    sent = round_by(span, 0.0, true)
    fold = by_its_course(sent, 0.5 * span)
    assert isinstance(fold, Fold)
    assert fold.steps == 2**power
    np.testing.assert_allclose(fold.unfolded(sent), true)


@given(seed=st.integers(0, 199))
def test_a_course_without_leaps_or_with_leaps_of_its_own_is_left_alone(seed: int) -> None:
    rng = np.random.default_rng(seed)
    walk = np.round(np.cumsum(rng.normal(0.0, 0.6, 1500)) * 2.0) / 2.0
    assert by_its_course(walk, 30.0) is None
    switched = np.where((np.arange(1500) // 300) % 2 == 1, walk / 10 - 27.0, walk / 10 + 10.0)
    assert by_its_course(np.round(switched * 2.0) / 2.0, 30.0) is None


def halves(run: Run) -> Run:
    return replace(run, scheduled=np.round(run.scheduled * 2.0) / 2.0)


def held(run: Run) -> Run:
    """The advance held at −4° while the lever is on."""
    run = with_lever(halves(run))
    rows = during(run, 24.0, 34.0)
    return run.post("hold-low", np.where(rows, HELD - run.scheduled, 0.0))


HOLDS = {
    "id": "hold-low",
    "title": "Hold low",
    "effect": "replace",
    "amount": HELD,
    "when": [{"channel": LEVER, "is": "on"}],
}


def unsigned(values: FloatArray) -> FloatArray:
    return round_by(64.0, 0.0, values)


@pytest.mark.parametrize("span", [64.0, 128.0])
def test_a_held_advance_that_went_round_is_what_the_sheet_holds(span: float) -> None:
    change = {"Adv given": lambda values: round_by(span, 0.0, values)}
    statement = written(held(climb()), sheet("rev-d.toml", "D", [HOLDS]), change=change)
    assert statement.verdict == "explained"
    assert statement.running is not None
    assert statement.running.matches_supplied
    assert [c.correction for c in statement.causes if not c.expected] == ["hold-low"]
    assert not any(c.raises_under_load for c in statement.causes)
    (note,) = [n for n in statement.notes if "went round its range" in n]
    assert note.startswith("Adv given went round its range of ")
    assert f"{HELD + span:g}° stands for −4°" in note


def test_an_advance_that_passes_nothing_goes_on_below_it() -> None:
    """A retard beyond the map's own advance, seen from sample to sample: no sheet is needed."""
    run = halves(climb())
    deep = np.round(-30.0 * np.sin(np.pi * np.clip((run.times - 24.0) / 10.0, 0, 1)) * 2.0) / 2.0
    run = run.post("deep", deep)
    assert (run.scheduled + deep).min() < -3.0
    statement = written(run, change={"Adv given": unsigned})
    assert any("only so does it go on without a leap" in note for note in statement.notes)
    assert not any(c.raises_under_load for c in statement.causes)
    assert statement.logs[0].ledger is not None
    assert np.nanmin(statement.logs[0].ledger.delivered) == (run.scheduled + deep).min()


def test_without_a_sheet_a_range_above_is_a_suspicion_and_the_warning_stays() -> None:
    statement = written(held(climb()), change={"Adv given": unsigned})
    assert statement.headline.startswith("Stop:")
    assert any("may have gone round" in note for note in statement.notes)
    raising = [c for c in statement.causes if c.raises_under_load]
    assert raising
    assert all(c.certainty < SURE for c in raising)
    assert statement.verdict == "unexplained"


def test_degrees_that_were_really_added_are_no_range() -> None:
    """25° too many, in steps of a half, are no 128 steps."""
    run = with_lever(halves(climb()))
    run = run.post("added", np.where(during(run, 24.0, 34.0), 25.0, 0.0))
    for sheets in ((), (sheet("rev-d.toml", "D", [HOLDS]),)):
        statement = written(run, *sheets)
        assert statement.headline.startswith("Stop:")
        assert not any("gone round" in n or "went round" in n for n in statement.notes)
