"""Names are taken apart and understood, in many languages and with many abbreviations."""

import pytest

from tests.roles.dressing import UNSEEN, languages
from tuneledger.roles.names import pieces, without_prefix
from tuneledger.roles.words import read_name, says_twin, trusted
from tuneledger.signals import SIGNALS


def concepts(name: str) -> set[str]:
    return {c for piece in pieces(name) for reading in piece.readings for c in reading}


@pytest.mark.parametrize(
    ("name", "held"),
    [
        ("Kuehlmitteltemp", {"coolant", "temperature"}),
        ("Kühlmitteltemp", {"coolant", "temperature"}),
        ("Ansauglufttemperatur", {"intake", "temperature"}),
        ("Motordrehzahl", {"engine", "rotation"}),
        ("EngSpd", {"engine", "rotation"}),
        ("ENGINE_RPM", {"engine", "rotation"}),
        ("Thrttl Pos", {"throttle", "position"}),
        ("inlTmp", {"intake", "temperature"}),
        ("Obroty silnika", {"rotation", "engine"}),
        ("Температура охлаждающей жидкости", {"temperature", "coolant"}),
        ("吸気温度", {"intake", "temperature"}),
        ("冷却液温度", {"coolant", "temperature"}),
        ("Pression d'huile", {"pressure", "oil"}),
        ("B+", {"battery", "voltage"}),
        ("lam_s", {"lambda", "target"}),
    ],
)
def test_a_name_holds_its_concepts(name: str, held: set[str]) -> None:
    assert held <= concepts(name)


@pytest.mark.parametrize("name", ["Xyzzy", "ch17", "Bandolo", ""])
def test_what_no_language_knows_says_nothing(name: str) -> None:
    assert read_name(name) is None


@pytest.mark.parametrize("language", [x for x in languages() if x not in (*UNSEEN, "terse")])
def test_names_in_every_language_say_their_own_signal_first(language: str) -> None:
    # the names were written apart from the vocabulary; a few that it misses are let pass
    right = total = 0
    for quantity, names in languages()[language].items():
        if quantity in SIGNALS:
            for name in names:
                said = read_name(name)
                total += 1
                best = (
                    max(SIGNALS.keys() & said.keys(), key=lambda s: said[s].weight) if said else ""
                )
                right += best == quantity
    assert right >= 0.93 * total


@pytest.mark.parametrize("language", [x for x in languages() if x not in UNSEEN])
def test_bystanders_are_not_named_like_a_signal(language: str) -> None:
    for quantity, names in languages()[language].items():
        if quantity.startswith("x ") and quantity not in _ALMOST:
            for name in names:
                said = read_name(name) or {}
                assert all(s.weight < 4.5 for s in said.values()), name


# second sensors and other forms of a signal, whose names rightly say nearly the same
_ALMOST = {
    "x boost",
    "x advance cylinder 1",
    "x advance cylinder 2",
    "x exhaust back pressure",
    "x gps speed",
    "x throttle 2",
    "x pedal 2",
    "x engine speed slow",
    "x dash voltage",
    "x sensor supply",
    "x prop shaft",
    "x processor load",
}


@pytest.mark.parametrize(
    ("signal", "plain", "others"),
    [
        ("engine coolant temperature", "Coolant temp", "Coolant pressure|Gearbox coolant temp"),
        ("engine speed", "Engine speed", "Engine speed filtered|Engine speed limit|Wheel speed"),
        ("throttle position", "Throttle", "Throttle target|Throttle 2|Throttle error"),
        ("measured lambda", "Lambda", "Lambda target|Lambda correction|Lambda bank 2"),
        ("delivered advance", "Ignition advance", "Ignition cyl 3|Knock retard|Ignition base"),
        ("oil pressure", "Oil pressure", "Brake pressure|Gearbox oil pressure|Oil pressure switch"),
        ("intake air temperature", "Intake air temp", "Exhaust temp|Tyre air temp|Intake air flow"),
        ("gear", "Gear", "Gear ratio|Gearbox temp|Gear cut"),
    ],
)
def test_counter_words_speak_against(signal: str, plain: str, others: str) -> None:
    strong = (read_name(plain) or {})[signal].weight
    for other in others.split("|"):
        assert (read_name(other) or {})[signal].weight < strong - 2, other


def test_j1979_letters_of_the_pedal_are_its_tracks() -> None:
    # SAE J1979: accelerator pedal position D is the first track, E the second
    first, second = (read_name(f"PEDAL_{letter}") or {} for letter in "DE")
    assert first["accelerator position"].weight > second["accelerator position"].weight + 2


def test_a_prefix_that_all_names_share_is_no_part_of_them() -> None:
    names = ["ecu.spark", "ecu.rpm", "ecu.temp", "ecu.load", "Time"]
    assert without_prefix(names) == ["spark", "rpm", "temp", "load", "Time"]
    assert (
        without_prefix(["Oil temp", "Oil pressure", "Water temp", "RPM", "Gear"])[0] == "Oil temp"
    )


def test_a_name_in_a_log_that_misleads_weighs_less_for_and_against() -> None:
    assert trusted(7.0, 0.99) > trusted(7.0, 0.6) > trusted(7.0, 0.2) > 0
    assert trusted(-4.0, 0.99) < trusted(-4.0, 0.6) < 0
    assert trusted(0.0, 0.5) == 0.0


def test_cylinders_and_second_banks_are_twins() -> None:
    assert says_twin("Ignition cyl 3") > says_twin("Ignition bank 2") > says_twin("Ignition") == 0.0
