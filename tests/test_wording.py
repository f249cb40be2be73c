"""How numbers and lists look to a person."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tuneledger import wording


@pytest.mark.parametrize(
    ("value", "text"),
    [(-4.0, "−4.0°"), (3.04, "+3.0°"), (0.0, "0.0°"), (-0.04, "0.0°"), (0.05001, "+0.1°")],
)
def test_a_degree_has_its_sign_and_a_true_minus(value: float, text: str) -> None:
    assert wording.degrees(value) == text


@pytest.mark.parametrize("nothing", [None, math.nan, math.inf])
def test_a_degree_that_nobody_knows_is_said_to_be_unknown(nothing: float | None) -> None:
    assert wording.degrees(nothing) == "not known"
    assert wording.seconds(nothing) == "not known"
    assert wording.share(nothing) == "not known"


@pytest.mark.parametrize("value", [3.05, 3.0500001, 3.0499999, -3.05, 3.15, 0.05, 12.25])
def test_a_half_is_rounded_away_from_zero_however_it_is_stored(value: float) -> None:
    tenths = (round(abs(value) * 100) + 5) // 10 / 10
    assert wording.degrees(abs(value), signed=False) == f"{tenths:.1f}°"
    assert wording.degrees(value).lstrip("+−") == f"{tenths:.1f}°"


def test_a_span_for_a_narrow_column() -> None:
    assert wording.degree_range(-6.0, 5.0) == "−6.0…+5.0°"
    assert wording.degree_range(-3.01, -2.99) == "−3.0°"


def test_an_advance_is_a_position_and_needs_no_plus() -> None:
    assert wording.degrees(22.1, signed=False) == "22.1°"
    assert wording.degrees(-3.0, signed=False) == "−3.0°"


def test_a_span_of_degrees() -> None:
    assert wording.degree_span(-6, 5, 0) == "−6° to +5°"
    assert wording.degree_span(-3.01, -2.99) == "−3.0°"


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (0.05, "0.05 s"),
        (0.5, "0.5 s"),
        (5.46, "5.5 s"),
        (9.97, "10 s"),
        (38.2, "38 s"),
        (119.6, "2 min"),
        (125, "2 min 5 s"),
        (725, "12 min"),
        (3599, "1 h"),
        (3601, "1 h"),
        (3725, "1 h 2 min"),
        (0.0, "0.00 s"),
    ],
)
def test_seconds_are_as_fine_as_a_person_can_use(value: float, text: str) -> None:
    assert wording.seconds(value) == text


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (55.0, "55"),
        (0.2500, "0.25"),
        (7412.6, "7413"),
        (123456.7, "123457"),
        (0, "0"),
        (-12.345, "−12.35"),
        (0.0001234, "0.0001234"),
        (1000.0, "1000"),
        (25e6, "25000000"),
        (1e308, "1 × 10^308"),
        (-2.5004e20, "−2.5 × 10^20"),
    ],
)
def test_a_threshold_has_no_noise_digits(value: float, text: str) -> None:
    assert wording.number(value) == text


@given(st.floats(-1e9, 1e9))
def test_a_number_keeps_its_value_to_the_digits_shown(value: float) -> None:
    text = wording.number(value, 6)
    assert "e" not in text
    assert math.isclose(float(text.replace("−", "-")), value, rel_tol=1e-5, abs_tol=1e-11)


def test_a_number_carries_its_unit() -> None:
    assert wording.quantity(180, "kPa") == "180 kPa"
    assert wording.quantity(62, "degC") == "62 °C"
    assert wording.quantity(-4, "deg") == "−4°"
    assert wording.quantity(0.9, "") == "0.9"


def test_a_certainty_is_never_written_as_more_than_it_is() -> None:
    assert wording.share(0.999) == "99 %"
    assert wording.share(0.798) == "79 %"
    assert wording.share(0.29) == "29 %"
    assert wording.share(1.0) == "100 %"
    assert wording.share(0.8) == "80 %"


def test_a_bound_holds_and_is_never_nothing() -> None:
    assert wording.bound(0.0) == "0.1°"
    assert wording.bound(0.21) == "0.3°"
    assert wording.bound(-0.3) == "0.3°"
    assert wording.bound(float("nan")) == "not known"


def test_lists_and_counts_read_as_english() -> None:
    assert wording.listing([]) == ""
    assert wording.listing(["a"]) == "a"
    assert wording.listing(["a", "b"]) == "a and b"
    assert wording.listing(["a", "b", "c"], "or") == "a, b or c"
    assert wording.count(1, "episode") == "1 episode"
    assert wording.count(2, "switch", "switches") == "2 switches"
    assert wording.sentence("no sheet was given") == "No sheet was given."
    assert wording.sentence("Is it on?") == "Is it on?"


@given(st.text())
def test_nothing_from_a_strangers_file_can_steer_a_terminal(name: str) -> None:
    shown = wording.visible(name)
    assert not any(ord(c) < 0x20 or 0x7F <= ord(c) < 0xA0 for c in shown)
    assert not any(c in "\u202e\u2066\u200f\u2028\u2029\ufeff" for c in shown)


def test_a_hidden_code_appears_escaped_and_ordinary_letters_stay() -> None:
    assert wording.visible("Öl\x1b[31mtemp\n") == "Öl\\x1b[31mtemp\\x0a"
    assert wording.visible("Zündwinkel °KW · 点火") == "Zündwinkel °KW · 点火"
