"""A delivered advance that never moves: the channel is doubted before the car is."""

import numpy as np
import pytest

from tests.explain.told import first, told
from tests.runs import Run, charge_air, climb, sheet
from tuneledger.explain.model import SURE
from tuneledger.statement import facts
from tuneledger.statement.model import Statement

RUN = climb()
DEG = (0.0, 0.0, -3.0, -6.0)


def stuck(run: Run, at: float) -> Run:
    """Delivered stands at one number from the first sample to the last."""
    return run.post("x", at - run.scheduled)


def of(kind: str, at: float = 15.0) -> Statement:
    d = sheet("rev-d.toml", "D", [charge_air(DEG)])
    if kind == "log alone":
        return told(stuck(RUN, at))
    return told(stuck(RUN, at), d, logged=kind == "log and sheet")


@pytest.mark.parametrize("kind", ["log alone", "log and sheet", "delivered and sheet"])
@pytest.mark.parametrize("at", [0.0, 15.0, 40.0])
def test_the_channel_and_the_fixed_advance_are_both_in_the_answer(kind: str, at: float) -> None:
    statement = of(kind, at)
    assert statement.verdict == "unexplained"
    assert statement.headline.startswith(f"Not sure yet (50 %): delivered stands at {at:.1f}°")
    for said in ("Adv given may be stuck", "fixed advance", "Check that channel", "No load until"):
        assert said in statement.headline
    assert first(statement).certainty < SURE
    assert [cause.entry for cause in statement.causes] == ["never-moves"]


def test_no_sheet_is_judged_by_a_channel_that_never_moves() -> None:
    statement = of("delivered and sheet")
    assert facts.running(statement) == "cannot be judged: delivered never moves"


def test_a_sheet_with_that_fixed_advance_accounts_for_it() -> None:
    fixed = {"id": "light", "effect": "replace", "amount": 15.0}
    statement = told(stuck(RUN, 15.0), sheet("rev-d.toml", "D", [fixed]))
    assert all(cause.entry != "never-moves" for cause in statement.causes)


def test_a_sheet_that_has_it_switched_off_says_what_was_left_on() -> None:
    fixed = {"id": "light", "effect": "replace", "amount": 15.0, "enabled": False}
    statement = told(stuck(RUN, 15.0), sheet("rev-d.toml", "D", [fixed]))
    assert first(statement).correction == "light"


def test_idling_at_one_number_as_asked_is_nothing_stuck() -> None:
    run = climb()
    idle = np.full_like(run.scheduled, 12.0)
    still = Run(run.times, run.signals, idle, run.regime).post("x", idle * 0.0 + 3.0)
    assert all(cause.entry != "never-moves" for cause in told(still).causes)
