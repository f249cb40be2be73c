"""Delivered that rests at 0° where the sheet goes below: the channel may hold nothing less."""

import numpy as np
import pytest

from tests.explain.labelled import written
from tests.explain.parts import LEVER, during, with_lever
from tests.runs import Run, climb, sheet
from tuneledger.statement.model import Statement

HOLDS = {
    "id": "hold-low",
    "title": "Hold low",
    "effect": "replace",
    "amount": -6.0,
    "when": [{"channel": LEVER, "is": "on"}],
}


def held(at_deg: float) -> Run:
    run = with_lever(climb())
    return run.post("hold-low", np.where(during(run, 24.0, 34.0), at_deg - run.scheduled, 0.0))


def told(statement: Statement) -> list[str]:
    return [note for note in statement.notes if "holds nothing below zero" in note]


def test_a_hold_below_zero_that_is_logged_as_zero_is_told() -> None:
    change = {"Adv given": lambda values: np.maximum(values, 0.0)}
    statement = written(held(-6.0), sheet("rev-d.toml", "D", [HOLDS]), change=change)
    (note,) = told(statement)
    assert note.startswith("Adv given stands at 0°, its lowest, in ")
    assert "gives −6°" in note


@pytest.mark.parametrize("at_deg", [-6.0, 4.0])
def test_an_advance_that_goes_below_zero_or_never_rests_there_is_not(at_deg: float) -> None:
    assert not told(written(held(at_deg), sheet("rev-d.toml", "D", [HOLDS])))


def test_a_hold_at_zero_that_the_sheet_has_is_not() -> None:
    made = sheet("rev-d.toml", "D", [{**HOLDS, "amount": 0.0}])
    assert not told(written(held(0.0), made))
