"""Rules, amounts and steps in words: what the ends or the mean would hide is said."""

from dataclasses import replace

import pytest

from tests.statements_open import hidden_rule
from tuneledger.explain.model import Curve, Rule
from tuneledger.statement import words
from tuneledger.statement.text import as_text

UNITS = {"Oil": "degC"}


@pytest.mark.parametrize(
    ("at", "deg", "said"),
    [
        ((70.0, 95.0), (0.0, -5.0), "0.0° to −5.0° as Oil goes from 70 to 95 °C"),
        ((70.0, 80.0, 95.0), (0.0, -2.0, -5.0), "0.0° to −5.0° as Oil goes from 70 to 95 °C"),
        (
            (70.0, 80.0, 95.0),
            (0.0, 5.0, 0.0),
            "0.0° as Oil goes from 70 to 95 °C, by way of +5.0° at 80 °C",
        ),
        (
            (60.0, 70.0, 80.0, 95.0),
            (0.0, -3.0, -3.0, 1.0),
            "0.0° to +1.0° as Oil goes from 60 to 95 °C, by way of −3.0° from 70 to 80 °C",
        ),
        (
            (60.0, 70.0, 80.0, 95.0),
            (0.0, 4.0, -3.0, 1.0),
            "0.0° to +1.0° as Oil goes from 60 to 95 °C, by way of +4.0° at 70 °C and −3.0° at "
            "80 °C",
        ),
        (
            (60.0, 82.0, 95.0),
            (0.0, 0.0, -6.0),
            "0.0° to −6.0° as Oil goes from 60 to 95 °C, by way of 0.0° at 82 °C",
        ),
        (
            (60.0, 70.0, 80.0, 90.0, 95.0),
            (5.0, 3.1, 1.0, -3.0, -3.0),
            "+5.0° to −3.0° as Oil goes from 60 to 95 °C, by way of +1.0° at 80 °C and −3.0° at "
            "90 °C",
        ),
    ],
)
def test_a_curve_is_told_with_its_ends_and_with_where_it_bends(
    at: tuple[float, ...], deg: tuple[float, ...], said: str
) -> None:
    assert words.rule(Rule((), None, Curve("Oil", at, deg)), UNITS) == said


def test_what_goes_both_ways_is_listed_by_its_range_and_not_by_its_mean() -> None:
    statement = hidden_rule()
    cause = replace(statement.causes[0], degrees=0.02, span=(-2.7, 12.8))
    assert words.amount(cause) == "−2.7° to +12.8°"
    assert words.amount(replace(cause, span=None)) == "0.0°"
    text = as_text(replace(statement, causes=(cause, *statement.causes[1:])))
    assert "−2.7…+12.8°" in text
    assert all(len(row) <= 80 for row in text.splitlines())


def test_one_number_is_rounded_one_way_in_one_statement() -> None:
    statement = hidden_rule()
    cause = replace(statement.causes[0], degrees=-3.0500001, rule=Rule((), -3.05))
    assert cause.rule is not None
    assert words.rule(cause.rule, {}) == f"{words.amount(cause)} throughout"


def test_a_log_to_be_driven_says_itself_that_it_comes_next() -> None:
    cause = replace(hidden_rule().causes[0], next_step="Next log: light throttle, Fan off.")
    assert words.next_step(cause) == ("Next log", "light throttle, Fan off.")
    assert words.next_step(replace(cause, next_step="ask: why?")) == ("Next", "Ask: why?")
