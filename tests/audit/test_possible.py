"""What can be true at once: the quick answer never says more than all the choices do."""

from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.audit.test_reach import sheet
from tuneledger.audit.reach import ever
from tuneledger.audit.reach.ever import Possible

NUMBERS = st.integers(-60, 160).map(float)
UNITS = st.sampled_from(["degC", "degF"])


@st.composite
def comparison(draw: st.DrawFn) -> dict[str, Any]:
    side = draw(st.sampled_from(["above", "below", "between"]))
    value: Any = draw(NUMBERS)
    if side == "between":
        value = [value, value + draw(st.integers(0, 40))]
    timed = {"held": 1.0} if draw(st.booleans()) else {}
    read = {"signal": "engine coolant temperature", "unit": draw(UNITS)}
    return read | {side: value} | timed


@given(st.lists(comparison(), min_size=2, max_size=3))
@settings(max_examples=150, deadline=None)
def test_what_is_said_at_once_is_what_all_choices_give(when: list[dict[str, Any]]) -> None:
    calibration = sheet({"amount": -1.0, "when": when})
    conditions = calibration.spark.correction[0].when
    quick = ever._meet_somewhere(conditions)
    with pytest.MonkeyPatch.context() as patched:
        patched.setattr(ever, "_meet_somewhere", lambda _: False)
        slow = Possible(calibration).together(conditions)
    assert slow or not quick
    assert Possible(calibration).together(conditions) == slow


@pytest.mark.parametrize(
    ("bounds", "can"),
    [
        ({"above": 80.0}, True),
        ({"above": 95.0}, False),
        ({"between": [85.0, 90.0]}, True),
    ],
)
def test_two_thresholds_of_one_reading_leave_room_or_none(
    bounds: dict[str, Any], can: bool
) -> None:
    read = {"signal": "engine coolant temperature", "unit": "degC"}
    calibration = sheet({"amount": -1.0, "when": [read | {"below": 90.0}, read | bounds]})
    assert Possible(calibration).can_act("c1") is can
