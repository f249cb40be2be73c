"""A delivered advance that is noisy: what is noise is told as that, what is beyond it is not."""

from dataclasses import replace

import numpy as np
import pytest

from tests.explain.parts import LEVER, switched
from tests.explain.test_rate_limit import thinned
from tests.ledger.test_between import lively, note, told
from tests.runs import Run, sheet
from tuneledger.arrays import FloatArray
from tuneledger.statement.model import Statement

EVERY = 8  # 25 Hz


def drive() -> Run:
    run = lively()
    run = replace(run, scheduled=np.minimum(run.scheduled, 37.5))  # within the sheet's limits
    on = (run.times > 24.0) & (run.times < 30.0)
    return thinned(run.carry(LEVER, on.astype(float)), EVERY)


def noise(run: Run, width: float, steps: int | None = None) -> FloatArray:
    """White, or of so many steps of that width up and down."""
    rng = np.random.default_rng(5)
    if steps is None:
        return np.asarray(rng.normal(0.0, width, run.times.size))
    return np.asarray(width * rng.integers(-steps, steps + 1, run.times.size))


def statement(run: Run, off: FloatArray) -> Statement:
    """The sheet is right: a lever takes 4°."""
    given = run.scheduled - 4.0 * run.extra[LEVER] + off
    sheets = (sheet("rev-d.toml", "D", [switched("wet", -4.0)]),)
    return told(run, np.round(run.scheduled, 1), np.round(given, 1), *sheets)


@pytest.mark.parametrize(
    ("width", "steps", "says"), [(0.25, None, 0.25), (0.6, None, 0.6), (0.5, 1, 0.41)]
)
def test_noise_is_told_by_its_width_and_explains_no_more_than_itself(
    width: float, steps: int | None, says: float
) -> None:
    run = drive()
    found = statement(run, noise(run, width, steps))
    said = note(found, "noisy").split(" noisy by ")[1].split("°")[0]
    assert float(said) == pytest.approx(says, rel=0.15)
    assert [c.correction for c in found.causes if c.kind != "other map"] == ["wet"]
    assert "Stop" not in found.headline
    assert found.tolerance_deg == pytest.approx(0.3)


@pytest.mark.parametrize("lasts", [2, 5])
def test_a_short_true_rise_is_no_noise(lasts: int) -> None:
    """Three degrees above for a fifth of a second and less, under load, where noise is 0.25°."""
    run = drive()
    first = int(np.argmax(run.times > 32.0))
    rise = np.zeros(run.times.size)
    rise[first : first + lasts] = 3.0
    found = statement(run, noise(run, 0.25) + rise)
    assert found.headline.startswith("Stop")
    assert any(c.raises_under_load and c.kind == "unknown" for c in found.causes)


def test_a_small_offset_beyond_the_noise_is_not_hidden_by_it() -> None:
    run = drive()
    rise = np.where((run.times > 40.0) & (run.times < 48.0), -1.2, 0.0)
    found = statement(run, noise(run, 0.25) + rise)
    assert any(c.correction != "wet" and c.kind != "other map" for c in found.causes)


def test_what_follows_a_noisy_channel_is_no_noise() -> None:
    """A rule along a channel that shakes, as a knock level does, is looked for as ever."""
    run = drive()
    shakes = np.abs(noise(run, 1.0))
    found = statement(run.carry("Shake", np.round(shakes, 2)), -2.0 * np.clip(shakes, 0.3, 1.6))
    assert not note(found, "noisy")


def test_what_moves_to_and_fro_with_the_map_is_no_noise() -> None:
    run = drive()
    late = np.interp(run.times - 0.03, run.times, run.scheduled) - run.scheduled
    assert not note(statement(run, late), "noisy")
