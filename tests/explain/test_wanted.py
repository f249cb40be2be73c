"""What the owner wants: only as the first sheet has it, and only where that is switched on."""

import pytest

from tests.explain.parts import LEVER, pulling, switched, with_lever
from tests.explain.told import first, told
from tests.runs import climb, sheet
from tuneledger.statement.model import SuppliedSheet

RUN = with_lever(climb())
WET = switched("wet-road", -4.0, expected="only in rain", reason="driver switch")
OFF = sheet("rev-d.toml", "D", [{**WET, "enabled": False}])
PULLED = RUN.post("wet-road", pulling(RUN, -4.0))


def test_a_wanted_correction_that_is_switched_on_ends_well() -> None:
    statement = told(PULLED, sheet("rev-d.toml", "D", [WET]))
    assert statement.verdict == "expected"
    assert statement.exit_status == 0


@pytest.mark.parametrize("degrees", [-4.0, -1.0, 3.0])
def test_a_wanted_correction_that_acts_although_it_is_switched_off_does_not_end_well(
    degrees: float,
) -> None:
    wet = {**WET, "amount": degrees, "enabled": False}
    statement = told(RUN.post("wet-road", pulling(RUN, degrees)), sheet("rev-d.toml", "D", [wet]))
    assert first(statement).correction == "wet-road"
    assert not first(statement).expected
    assert "switched off" in first(statement).says
    assert statement.exit_status == 1


@pytest.mark.parametrize(
    "supplied",
    [
        sheet("rev-d.toml", "D"),
        OFF,
        sheet("rev-d.toml", "D", [{**WET, "amount": -2.0}]),
        sheet("rev-d.toml", "D", [{**WET, "when": [{"channel": LEVER, "is": "off"}]}]),
    ],
    ids=["lacks it", "switched off", "other amount", "other condition"],
)
def test_what_only_another_revision_wants_is_not_expected(supplied: SuppliedSheet) -> None:
    statement = told(PULLED, supplied, sheet("rev-c.toml", "C", [WET]))
    assert not first(statement).expected
    assert statement.exit_status == 1


def test_what_both_revisions_want_alike_stays_expected() -> None:
    statement = told(PULLED, sheet("rev-d.toml", "D", [WET]), sheet("rev-c.toml", "C", [WET]))
    assert statement.exit_status == 0
