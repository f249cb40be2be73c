"""A rule read out of the log that a sheet may list: switched off, or under another name."""

from typing import Any

import pytest

from tests.change.rehearsals import AIR, DEG
from tests.explain.parts import LEVER, pulling, switched, with_lever
from tests.explain.told import first, told
from tests.runs import along, charge_air, climb, sheet

RUN = with_lever(climb())
TAKEN = RUN.post("lever", pulling(RUN, -3.0))


@pytest.mark.parametrize(
    ("off", "says"),
    [({"enabled": False}, "switched off, −8.0°"), ({"amount": 0.0}, "with 0.0°")],
)
def test_a_rule_that_stands_in_the_sheet_switched_off_is_told_as_that(
    off: dict[str, Any], says: str
) -> None:
    listed = {**switched("lever", -8.0), **off}
    cause = first(told(TAKEN, sheet("rev-d.toml", "D", [listed])))
    assert cause.kind == "hidden rule"
    assert f"Revision D lists it as {listed.get('title', 'lever')}, {says}" in cause.next_step
    assert "Read the ECU back" in cause.next_step


def test_one_under_another_condition_is_no_such_rule() -> None:
    other = switched("lever", -8.0, when=[{"channel": LEVER, "is": "off"}], enabled=False)
    cause = first(told(TAKEN, sheet("rev-d.toml", "D", [other])))
    assert cause.kind == "hidden rule"
    assert "Revision D lists it" not in cause.next_step


def test_one_that_takes_as_much_as_a_correction_out_of_reach_may_be_that() -> None:
    """The second sheet reads a channel that this log does not carry, or calls otherwise."""
    run = TAKEN.post("charge-air", along(TAKEN, "intake air temperature", AIR, DEG))
    elsewhere = switched("wet", -3.0, when=[{"channel": "Wet road", "is": "on"}])
    own, other = sheet("d.toml", "D", [charge_air(DEG)]), sheet("c.toml", "C", [elsewhere])
    cause = next(c for c in told(run, own, other).causes if c.kind == "hidden rule")
    assert "It may be wet of revision C, −3.0°, which reads 'Wet road'" in cause.next_step
