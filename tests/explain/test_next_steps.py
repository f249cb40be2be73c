"""What to do next: how a check tells, and no protection where there is none."""

import re
from dataclasses import replace

import numpy as np
import pytest

from tests.explain.parts import pulling, switched, with_lever
from tests.explain.told import first, told
from tests.light.made import readings
from tests.runs import climb, sheet
from tuneledger.explain.model import Cause
from tuneledger.explain.unsettled import first_step
from tuneledger.light.fit import fit_readings
from tuneledger.statement.reply import reply

RUN = climb()
SPEEDS = [900.0, 1500.0, 2200.0, 3000.0, 3600.0]


@pytest.mark.parametrize("amount", [4.0, -3.0, -1.5])
def test_the_same_amount_all_through_is_put_to_the_timing_light(amount: float) -> None:
    cause = first(told(RUN.post("x", np.full(RUN.times.shape, amount)), sheet("d.toml", "D")))
    assert cause.rule is not None
    assert not cause.rule.when
    assert "`tuneledger light`" in cause.next_step
    assert ("No load" in cause.next_step) == (amount > 0)
    # At the crank it is as scheduled: the log alone is shifted, delivered is the commanded column.
    made = readings(SPEEDS, commanded=12.0 + amount, offset=-amount)
    (said,) = re.findall(r"one near ([+−][\d.]+)°", cause.next_step)
    offset = fit_readings(made).offset_deg
    assert float(said.replace("−", "-")) == pytest.approx(offset, abs=0.05)


def test_what_starts_and_stops_needs_no_timing_light() -> None:
    cause = first(told(with_lever(RUN.post("x", pulling(RUN, -4.0))), sheet("d.toml", "D")))
    assert "tuneledger light" not in cause.next_step


def taken(reason: str) -> Cause:
    run = with_lever(RUN.post("x", pulling(RUN, -4.0)))
    return first(told(run, sheet("d.toml", "D", [switched("second", -4.0, reason=reason)])))


def test_a_correction_for_a_fuel_asks_for_the_fuel_and_not_for_what_it_protects_from() -> None:
    assert taken("fuel").next_step.startswith("It fits the advance to the fuel")
    assert "while nitrous flows" in taken("nitrous").next_step
    assert taken("boost").next_step.startswith("It protects the engine (boost)")


def test_a_fuel_s_correction_that_stayed_silent_keeps_from_load_all_the_same() -> None:
    d = sheet("d.toml", "D", [switched("second", -4.0, reason="fuel")])
    step = first(told(with_lever(RUN), d)).next_step
    assert "before any load" in step
    assert "protection" not in step


def test_a_reply_asks_which_fuel_was_in_the_tank() -> None:
    run = with_lever(RUN.post("x", pulling(RUN, -4.0)))
    d = sheet("d.toml", "D", [switched("second", -4.0, reason="fuel", title="Second fuel")])
    assert "was the fuel in the tank the one that 'Second fuel' is for?" in reply(told(run, d))


@pytest.mark.parametrize(
    ("step", "short"),
    [
        ("Next log: light throttle, Fan off; it tells Wet from Fan. Then: Fan on.",
         "Next log: light throttle, Fan off."),
        ("Check it first; switch it off. No load until it is understood.",
         "Check it first; switch it off. No load until it is understood."),
        ("Find where it is set; ask for the sheet. The same amount may be a reference angle.",
         "Find where it is set; ask for the sheet."),
    ],
)  # fmt: skip
def test_a_headline_has_the_first_step_and_whatever_keeps_from_load(step: str, short: str) -> None:
    assert first_step(replace(taken("other"), next_step=step)) == short
