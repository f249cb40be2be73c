"""Which switches a driver is asked to turn: none that may hurt, none that nobody knows."""

from typing import Any

import pytest

from tests.explain.parts import LEVER, switched
from tests.explain.test_experiments import offered, switches
from tests.explain.told import first, told
from tests.patience import at_most
from tests.runs import sheet
from tuneledger.explain.experiments.choosing import _goes_with
from tuneledger.explain.experiments.controls import Option
from tuneledger.explain.experiments.model import Experiment
from tuneledger.explain.experiments.purpose import Purpose, purpose
from tuneledger.statement.text import as_text

NEVER_ASKED = (
    *("N2O arm", "Nitrous valve", "Lachgasventil", "Válvula óxido nitroso", "Azot valfi"),
    *(
        "ナイトロ弁",
        "Zawór podtlenku",
        "Launch button",
        "Startknopf",
        "発進ボタン",
        "Kalkış düğmesi",
    ),
    *("Brake sw", "Bremslichtschalter", "Freno", "Hamulec", "ブレーキスイッチ", "Fren"),
    *("Anti-lag", "2-step", "Clutch sw", "クラッチスイッチ", "Map switch", "Kennfeldschalter"),
    *("SW_A", "Lever", "X 3", "Rain limp", "Wet shot", "Fuel pump", "Rev limit", "Kill switch"),
)


@pytest.mark.parametrize("name", NEVER_ASKED)
def test_a_switch_that_may_hurt_or_that_nobody_knows_is_only_watched(name: str) -> None:
    assert purpose(name) == "watch"
    assert offered(switches(name), name, timed=True) == []


@pytest.mark.parametrize(
    "name",
    ["Rain switch", "Regenschalter", "Schalter Regen", "雨天スイッチ", "Yağmur anahtarı", "A/C",
     "Interruptor lluvia", "Przełącznik deszcz", "Klimakompressor", "エアコン", "AC request"],
)  # fmt: skip
def test_a_switch_that_by_its_whole_name_is_harmless_may_be_turned(name: str) -> None:
    assert purpose(name) == "either"


@pytest.mark.parametrize("name", ["Fan relay", "Lüfter 1", "電動ファン", "Ventilador"])
def test_a_fan_may_run_and_is_not_switched_off(name: str) -> None:
    assert purpose(name) == "on"


def test_what_a_sheet_says_of_a_switch_counts() -> None:
    def lever(degrees: float, **more: Any) -> Purpose:
        return purpose(LEVER, [sheet("d", "D", [switched("x", degrees, **more)]).calibration])

    assert lever(-4.0, reason="driver switch") == "either"
    assert lever(-4.0) == "watch"
    assert lever(4.0, reason="driver switch") == "watch"
    assert lever(-4.0, reason="nitrous") == "watch"
    assert lever(-4.0, reason="driver switch", title="Lachgas") == "watch"


@pytest.mark.parametrize(
    ("said", "asked"),
    [
        ({}, "either"),
        ({"reason": "nitrous"}, "watch"),
        ({"amount": 4.0}, "watch"),
        ({"amount": 4.0, "reason": "other"}, "watch"),
        ({"title": "Lachgas"}, "watch"),
        ({"id": "launch"}, "watch"),
        ({"effect": "at least", "amount": 30.0}, "watch"),
    ],
)
def test_a_harmless_name_does_not_overrule_what_a_sheet_says(
    said: dict[str, Any], asked: Purpose
) -> None:
    wet = {"id": "n", "amount": -4.0, "reason": "driver switch"}
    wet["when"] = [{"channel": "Wet", "is": "on"}]
    mild, other = (sheet("d", "D", [row]).calibration for row in (wet, wet | said))
    assert purpose("Wet", [other]) == asked
    assert purpose("Wet", [mild, other]) == asked


def test_a_name_of_countless_words_is_not_looked_through() -> None:
    with at_most(10.0):
        assert purpose("wet" * 20_000) == "watch"


@pytest.mark.parametrize("name", ["Azot valfi", "SW_C", "ブレーキスイッチ"])
def test_a_rule_with_a_switch_that_may_hurt_asks_for_no_drive_with_it(name: str) -> None:
    statement = told(switches(name, "Lamp"))
    assert first(statement).alternatives
    for one in (*statement.experiments, *statement.causes):
        said = one.sentence if isinstance(one, Experiment) else one.next_step
        assert f"{name} on" not in said
    assert f"Turn no switch for this: only watch {name}" in statement.headline
    assert "Next log" not in as_text(statement)


def test_what_is_armed_for_full_load_is_off_on_any_drive_that_is_asked_for() -> None:
    statement = told(switches("N2O arm", "Wet", "SW_C"))
    asked = [one.sentence for one in statement.experiments if one.bits]
    assert asked
    for sentence in asked:
        assert "Wet on, N2O arm off, and watch SW_C" in sentence


def test_one_switch_at_most_is_asked_for_and_no_cold_engine_is_driven() -> None:
    wet, fan = (Option(name, 1.0, name, 0.02, switch=True) for name in ("Wet", "Fan"))
    cold = Option("Coolant", 30.0, "Coolant below 40 °C", 0.1, cold=True)
    fast = Option("Rev", 3000.0, "Rev above 2500 rpm", 0.05, moving=True)
    assert not _goes_with(fan, [wet])
    assert not _goes_with(fast, [cold])
    assert not _goes_with(cold, [fast])
    assert _goes_with(cold, [wet])
