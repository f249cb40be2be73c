"""What is added before a sheet's cap goes through that cap, which neither hides nor bends it."""

from typing import Any

import numpy as np
import pytest

from tests.explain.parts import LEVER, hills, switched, with_lever, with_spark
from tests.explain.told import kinds, told
from tests.runs import TOLERANCE, Run, sheet
from tuneledger.arrays import BoolArray, FloatArray
from tuneledger.calibrations.model import Limits
from tuneledger.explain.model import Cause
from tuneledger.statement.model import Statement

COAST: dict[str, Any] = {
    "id": "coast",
    "title": "Coasting",
    "reason": "overrun",
    "effect": "at most",
    "amount": 12.0,
    "when": [{"signal": "throttle position", "unit": "%", "below": 20.0}],
}


def run_with_lever() -> Run:
    run = hills()
    return with_lever(run, (run.times % 31.0) < 17.0)


def delivered(run: Run, advance: FloatArray) -> Run:
    """The run with that advance delivered, whatever was scheduled."""
    return run.post("all", advance - run.scheduled)


def coasting(run: Run) -> BoolArray:
    return run.signals["throttle position"] < 20.0


def on(run: Run) -> BoolArray:
    return run.extra[LEVER] > 0


def rule_of(statement: Statement) -> Cause:
    (found,) = (cause for cause in statement.causes if cause.rule is not None)
    return found


@pytest.mark.parametrize("degrees", [-4.0, -6.5, 3.0])
@pytest.mark.parametrize("listed", [None, -2.0])
def test_a_switch_is_read_out_alone_though_a_cap_hides_it_on_the_overrun(
    degrees: float, listed: float | None
) -> None:
    run = run_with_lever()
    stands = run.scheduled + np.where(on(run), degrees, 0.0)
    stands = np.where(coasting(run), np.minimum(stands, 12.0), stands)
    corrections = [COAST] if listed is None else [switched("fuel", listed), COAST]
    statement = told(delivered(run, stands), sheet("rev-d.toml", "D", corrections))
    cause = rule_of(statement)
    assert [dict(one) for one in cause.rule.when] == [{"channel": LEVER, "is": 1}]
    assert cause.rule.amount_deg == pytest.approx(degrees, abs=0.05)
    assert cause.correction == (None if listed is None else "fuel")
    assert statement.verdict == "explained"


def test_the_cap_gives_way_to_what_is_posted_before_it_and_the_books_balance() -> None:
    run = run_with_lever()
    asked = run.scheduled + np.where(on(run), -4.0, 0.0)
    stands = np.where(coasting(run), np.minimum(asked, 12.0), asked)
    statement = told(delivered(run, stands), sheet("rev-d.toml", "D", [COAST]))
    ledger = statement.logs[0].ledger
    assert ledger is not None
    assert float(np.nanmax(np.abs(ledger.unaccounted))) <= TOLERANCE
    cut = next(e.values for e in ledger.entries if e.correction == "coast")
    assert cut == pytest.approx(stands - asked, abs=0.06)


@pytest.mark.parametrize(
    ("limits", "degrees"), [({"highest": 30.0}, 5.0), ({"lowest": 14.0}, -5.0)]
)
def test_a_limit_of_the_sheet_does_not_bend_a_rule_that_runs_into_it(
    limits: dict[str, float], degrees: float
) -> None:
    run = run_with_lever()
    stands = run.scheduled + np.where(on(run), degrees, 0.0)
    stands = np.clip(stands, limits.get("lowest", -90.0), limits.get("highest", 90.0))
    made = with_spark(sheet("rev-d.toml", "D"), limits=Limits(**limits))
    statement = told(delivered(run, stands), made)
    cause = rule_of(statement)
    assert [dict(one) for one in cause.rule.when] == [{"channel": LEVER, "is": 1}]
    assert cause.rule.amount_deg == pytest.approx(degrees, abs=0.05)
    assert set(kinds(statement)) <= {"hidden rule", "limit"}
    assert statement.verdict == "explained"


def test_a_cap_that_did_not_act_is_told_as_before() -> None:
    run = hills()
    statement = told(run, sheet("rev-d.toml", "D", [COAST]))
    assert any(cause.correction == "coast" for cause in statement.causes)
