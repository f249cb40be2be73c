"""A rule read out of the log that a sheet lists, for a correction which it has switched off."""

from typing import Any

import pytest

from tests.explain.parts import LEVER, pulling, switched, with_lever
from tests.explain.told import first, told
from tests.runs import climb, sheet

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
