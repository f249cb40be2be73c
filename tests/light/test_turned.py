"""Readings after top dead centre that lost their sign, and what a headline may claim."""

from dataclasses import replace

import numpy as np
import pytest

from tests.light.made import readings
from tuneledger.light.fit import Fit, fit_readings
from tuneledger.light.readings import Readings
from tuneledger.light.says import do, notes, says
from tuneledger.light.text import as_text

SPEEDS = (900, 1500, 2200, 3000, 3800, 4500)
WOBBLE = (0.2, -0.2, 0.1, -0.1, 0.2, -0.2)


def turned(made: Readings, *rows: int) -> Fit:
    """The fit of readings of which these rows (1 the first) carry the other sign."""
    sign = np.ones(made.rpm.shape)
    sign[[row - 1 for row in rows]] = -1.0
    return fit_readings(replace(made, observed=sign * made.observed))


def test_all_readings_after_top_dead_centre_are_asked_after_and_nothing_is_corrected() -> None:
    """Twenty degrees "earlier" would be the worst of advice."""
    fit = turned(readings(SPEEDS, noise=WOBBLE), *range(1, 7))
    assert fit.exit_status == 3
    assert "all readings look as if counted after top dead centre" in says(fit)
    assert "before or after top dead centre" in do(fit)
    assert "Change nothing" in do(fit)
    assert "Correct" not in do(fit)


@pytest.mark.parametrize("rows", [(2, 5), (1, 3, 6), (1, 2, 3, 4)])
def test_some_readings_after_top_dead_centre_are_named_and_not_called_scatter(
    rows: tuple[int, ...],
) -> None:
    fit = turned(readings(SPEEDS, offset=1.0, noise=WOBBLE), *rows)
    assert fit.turned_rows == rows
    if fit.sign_in_doubt:
        assert fit.exit_status == 3
        assert "look as if counted after top dead centre" in says(fit)
    assert "scatter" not in as_text(fit).replace("Scatter", "")


def test_one_reading_after_top_dead_centre_is_left_out_and_said_to_look_so() -> None:
    fit = turned(readings(SPEEDS, noise=WOBBLE), 3)
    assert fit.state == "agrees"
    assert any("looks as if it were after top dead centre" in note for note in notes(fit))


@pytest.mark.parametrize("offset", [-25.0, -12.0, -4.0, 3.0, 12.0, 25.0])
def test_a_crank_that_is_off_is_not_taken_for_a_lost_sign(offset: float) -> None:
    fit = fit_readings(readings(SPEEDS, offset=offset, delay_us=150.0, noise=WOBBLE))
    assert fit.turned_rows == ()
    assert fit.state == "correct"


def test_a_commanded_advance_about_zero_says_nothing_of_a_sign() -> None:
    assert turned(readings(SPEEDS, commanded=1.0, noise=WOBBLE), *range(1, 7)).turned_rows == ()


def test_the_headline_says_that_a_reading_was_left_out() -> None:
    said = says(fit_readings(readings(SPEEDS, noise=WOBBLE, slips={3: -6.0})))
    assert said.startswith("Agrees")
    assert "Reading 3 is left out: 5 of 6 stand behind this." in said


def test_agreement_claims_no_less_than_its_interval() -> None:
    """Four readings with half a degree of scatter do not prove a tenth of a degree."""
    rng = np.random.default_rng(11)
    for _ in range(100):
        fit = fit_readings(readings(SPEEDS, noise=rng.normal(0.0, 0.4, 6)))
        if fit.state == "agrees":
            assert fit.within_deg is not None
            low, high = fit.offset_interval_deg or (0.0, 0.0)
            slope = 6e-6 * 900 * (fit.delay_us or 0.0)
            assert fit.within_deg >= abs(0.5 * (low + high) - slope)


def test_agreement_is_never_closer_than_a_light_can_be_read() -> None:
    fit = fit_readings(readings(SPEEDS))
    assert "within 0.5°" in says(fit)


def test_the_band_of_the_line_holds_the_truth_in_nineteen_of_twenty_sets() -> None:
    """The confidence band of a fitted line at both ends (Student's t, two degrees less)."""
    rng = np.random.default_rng(5)
    held = 0
    for _ in range(300):
        fit = fit_readings(readings(SPEEDS, offset=2.0, noise=rng.normal(0.0, 0.3, 6)))
        held += (fit.within_deg or 0.0) >= 2.0
    assert held >= 0.95 * 300 - 2 * np.sqrt(300 * 0.95 * 0.05)
