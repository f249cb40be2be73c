"""A condition reads as English, on its own and behind a verb."""

import pytest

from tuneledger.phrases import acting, condition, conditions

BUTTON = {"channel": "Pass button", "is": 0}


@pytest.mark.parametrize(
    ("terms", "words"),
    [
        ({"channel": "Wet switch", "is": "on"}, "Wet switch is on"),
        ({"channel": "Wet switch", "is": 1}, "Wet switch is 1"),
        (
            {"channel": "Throttle", "unit": "%", "above": 55.0, "release": 50},
            "Throttle above 55 % until below 50 again",
        ),
        ({"signal": "oil pressure", "unit": "kPa", "below": 90.0, "release": 120},
         "oil pressure below 90 kPa until above 120 again"),
        ({"signal": "engine speed", "between": [3000, 4500]}, "engine speed from 3000 to 4500"),
        ({"since": {"channel": "Button", "is": "off"}, "below": 2.0},
         "less than 2 s since Button went off"),
        ({"since": {"channel": "Boost", "unit": "kPa", "above": 180}, "above": 0.5},
         "more than 0.5 s since Boost went above 180 kPa"),
        ({"any": [{"channel": "A", "is": "on"}, {"channel": "B", "is": "on"}]},
         "A is on or B is on"),
        ({"correction": "launch", "is": "active"}, "'launch' is active"),
        ({"signal": "throttle position", "rate": 0.2, "unit": "%", "above": 30, "held": 0.1},
         "change of throttle position in % per second above 30 for 0.1 s or longer"),
        ({"signal": "idle speed target", "minus": "engine speed", "unit": "rpm", "below": -50},
         "idle speed target minus engine speed below −50 rpm"),
    ],
)  # fmt: skip
def test_a_condition_reads_as_a_phrase(terms: dict[str, object], words: str) -> None:
    assert condition(terms) == words


def test_conditions_take_units_from_the_log_and_none_is_always() -> None:
    when = [{"channel": "Wet", "is": 1}, {"channel": "Ped", "above": 55}]
    assert conditions(when, {"Ped": "%"}) == "Wet is 1 and Ped above 55 %"
    assert conditions([]) == "always"


@pytest.mark.parametrize(
    ("when", "words"),
    [
        ([], ""),
        ([{"channel": "Wet", "is": 1}, {"channel": "Ped", "above": 55}],
         "while Wet is 1 and Ped is above 55 %"),
        ([{"since": BUTTON, "unit": "s", "below": 1.5}],
         "for 1.5 s after Pass button goes to 0"),
        ([{"channel": "Ped", "below": 20}, {"since": BUTTON, "unit": "s", "below": 1.5}],
         "for 1.5 s after Pass button goes to 0, while Ped is below 20 %"),
        ([{"since": {"channel": "Ped", "above": 55}, "between": [0.2, 0.8]}],
         "from 0.2 to 0.8 s after Ped goes above 55 %"),
        ([{"since": {"correction": "launch", "is": "active"}, "above": 1.0}],
         "from 1 s after 'launch' becomes active on"),
    ],
)  # fmt: skip
def test_when_something_acts_follows_a_verb(when: list[dict[str, object]], words: str) -> None:
    assert acting(when, {"Ped": "%"}) == words
