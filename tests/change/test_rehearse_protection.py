"""An edit that eases what protects the engine is said with Care, wherever the drive went."""

from typing import Any

import pytest

from tests.change.orders import one_sheet, ordered
from tests.change.rehearsals import edited, hot_statement
from tuneledger.change.rehearsal import Rehearsal

GUARD: dict[str, Any] = {
    "id": "guard",
    "title": "Temperature guard",
    "reason": "sensor guard",
    "amount": -8.0,
    "when": (
        {"signal": "intake air temperature", "unit": "degC", "above": 300.0, "held": 0.2},
        {"signal": "engine speed", "unit": "rpm", "above": 3500.0},
    ),
}
TOP: dict[str, Any] = {
    "id": "top",
    "title": "Rev limit",
    "reason": "rev limit",
    "effect": "replace",
    "amount": -5.0,
    "when": ({"signal": "engine speed", "unit": "rpm", "above": 20000.0},),
}


def of(place: str, to: Any) -> Rehearsal:
    return edited(hot_statement(GUARD, TOP), (f"spark.correction.{place}", to))


def test_no_guard_of_these_acts_on_the_drive() -> None:
    assert not of("guard.enabled", False).moving.any()
    assert not of("top.enabled", False).moving.any()


@pytest.mark.parametrize(
    ("place", "to", "way"),
    [
        ("guard.when[0].above", 400.0, "may ease"),
        ("guard.when[0].held", 60.0, "may ease"),
        ("guard.when[1].above", 9000.0, "may ease"),
        ("guard.when", [*GUARD["when"], {"channel": "Lever", "is": "on"}], "may ease"),
        ("guard.effect", "at most", "may ease"),
        ("guard.amount", -2.0, "eases"),
        ("guard.enabled", False, "switches off"),
    ],
)
def test_a_guard_that_is_eased_is_said_first_though_nothing_moves(
    place: str, to: Any, way: str
) -> None:
    made = of(place, to)
    told = f"Care: it {way} what protects the engine: Temperature guard (sensor guard)."
    assert told in made.headline or (
        made.headline.startswith("Care: ") and told.removeprefix("Care: i") in made.headline
    )
    assert made.exit_status == 1


def test_a_rev_limit_that_is_switched_off_is_said_as_well() -> None:
    made = of("top.enabled", False)
    assert made.headline.startswith("Care: it switches off what protects the engine: Rev limit")
    assert made.exit_status == 1


@pytest.mark.parametrize(
    ("place", "to"),
    [("guard.when[0].above", 290.0), ("guard.when[0].held", 0.1), ("guard.amount", -9.0)],
)
def test_a_guard_that_acts_no_later_and_takes_no_less_is_not_eased(place: str, to: Any) -> None:
    made = of(place, to)
    assert made.eased == ()
    assert made.exit_status == 0


def test_an_order_asks_about_a_rev_limit_that_is_switched_off_in_plain_words() -> None:
    made = ordered(one_sheet(TOP), ("spark.correction.top.enabled", False))
    assert "Rev limit (rev limit) protects the engine" in " ".join(made.questions)
    assert "Rev limit, which would no longer set the advance where it acts" in made.headline
    assert "not known" not in " ".join(made.care)
