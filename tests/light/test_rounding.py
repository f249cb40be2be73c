"""Marks are read to half a degree or to a whole one; the interval has to hold that too."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import linprog

from tests.light.made import readings
from tuneledger.light.fit import fit_readings
from tuneledger.light.rounding import Lines, step_of
from tuneledger.light.says import do, says
from tuneledger.light.text import as_text

SETS = 200


def made(rng: np.random.Generator, count: int, step: float, noise: float) -> tuple:
    """One set of readings as somebody would write it down, and the truth behind it."""
    offset, delay = rng.uniform(-4.0, 4.0), float(rng.choice([0.0, 30.0, 150.0])) * rng.uniform()
    rpm = rng.uniform(750.0, 1000.0) + np.linspace(0.0, rng.uniform(1500.0, 4000.0), count)
    got = readings(rpm, offset=offset, delay_us=delay, noise=rng.normal(0.0, noise, count))
    if step:
        got.observed[:] = np.round(got.observed / step) * step
    return fit_readings(got), offset, delay


@pytest.mark.parametrize("noise", [0.0, 0.1, 0.3])
@pytest.mark.parametrize("step", [0.0, 0.5, 1.0])
def test_intervals_hold_the_truth_however_the_mark_was_read(step: float, noise: float) -> None:
    rng = np.random.default_rng(int(1000 * step + 10 * noise))
    held = np.zeros(2)
    for _ in range(SETS):
        fit, offset, delay = made(rng, int(rng.integers(4, 13)), step, noise)
        low, high = fit.offset_interval_deg or (0.0, 0.0)
        least, most = fit.delay_interval_us or (0.0, 0.0)
        held += (
            low - 1e-9 <= offset <= high + 1e-9,
            least - 1e-6 <= delay <= most + 1e-6,
        )
    assert (held / SETS >= 0.93).all(), held


@pytest.mark.parametrize("count", [3, 4, 5])
@pytest.mark.parametrize("step", [0.5, 1.0])
def test_readings_rounded_alike_are_unsure_by_half_a_step_at_least(count: int, step: float) -> None:
    rpm = np.linspace(800.0, 3400.0, count)
    fit = fit_readings(readings(rpm, offset=2.0 if step == 1.0 else 2.5))
    low, high = fit.offset_interval_deg or (0.0, 0.0)
    assert fit.step_deg == step
    assert fit.residual_deg == pytest.approx(0.0, abs=1e-9)
    assert high - low >= step


def test_no_interval_is_told_with_one_number_twice() -> None:
    for offset in (2.0, 2.01234567, -0.5, 0.0):
        for rpm in ((800, 1900, 3400), (800, 1300, 1900, 2600, 3400)):
            fit = fit_readings(readings(rpm, offset=offset, delay_us=50.0 if offset else 0.0))
            for text in (says(fit), as_text(fit).replace("\n", " ")):
                for word in ("+2.0°", "+2.01°", "−0.5°", "0.0°", "50 µs", "0 µs"):
                    assert f"{word} and {word}" not in text
                    assert f"({word} to {word}" not in text


def test_a_crank_that_is_right_to_the_whole_degree_agrees_within_what_that_leaves() -> None:
    fit = fit_readings(readings((800, 1300, 1900, 2600, 3400)))
    assert fit.state == "agrees"
    assert (fit.within_deg or 0.0) >= 0.5


def test_whole_degrees_over_a_narrow_span_cannot_tell_and_say_why() -> None:
    fit = fit_readings(readings((800, 1000, 1200, 1500)))
    assert fit.state == "cannot tell"
    assert "rounded to 1° leave too much open" in says(fit)
    assert "as finely as the mark allows" in do(fit)


@pytest.mark.parametrize(
    ("values", "step"),
    [
        ([10.0, 12.0, 9.0], 1.0),
        ([10.0, 12.5, 9.0], 0.5),
        ([10.25, 12.5, 9.0], 0.25),
        ([10.1, 12.5, 9.0], 0.1),
        ([10.123456, 12.5], 0.0),
        ([], 0.0),
    ],
)
def test_the_step_is_the_coarsest_that_fits_all(values: list[float], step: float) -> None:
    assert step_of(np.array(values)) == step


@given(
    st.lists(st.integers(400, 9000), min_size=3, max_size=15).filter(lambda x: len(set(x)) > 1),
    st.integers(0, 2**32 - 1),
    st.sampled_from([0.0, 700.0, 2000.0, 9500.0]),
)
def test_the_lines_that_pass_end_where_linear_programming_ends_them(
    x: list[int], seed: int, at: float
) -> None:
    """Against SciPy's linear programming (HiGHS)."""
    rpm = np.array(x, dtype=float)
    y = np.round(np.random.default_rng(seed).normal(1.0, 0.4, rpm.size))
    half = max(0.5, float(np.abs(y - np.median(y)).max()))
    lines = Lines(rpm, y, half)
    krpm = (rpm - at) / 1000.0
    sides = np.column_stack([np.ones(rpm.size), krpm])
    held = np.vstack([sides, -sides]), np.concatenate([y + half, half - y])
    ends = [
        [sign * linprog([sign * a, sign * b], *held, bounds=(None, None)).fun for sign in (1, -1)]
        for a, b in ((1, 0), (0, 1))
    ]
    assert lines.at(at) == pytest.approx(ends[0], abs=1e-6)
    assert np.array(lines.slope) * 1000.0 == pytest.approx(ends[1], abs=1e-6)
