"""Units: every spelling is read, every factor is the standard's, nothing converts by guess."""

import numpy as np
import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tuneledger.units import UNITS, conversion, convert, parse_unit

NIST_SP_811 = {
    # NIST Special Publication 811 (2008), appendix B.8 and tables 6 to 9 (factors from memory of
    # the publication; pint below is the second witness): unit, value in SI of ours, ours
    "psi": (6.894757, "kPa"),
    "inHg": (3.386389, "kPa"),  # conventional
    "mmHg": (0.1333224, "kPa"),  # conventional
    "inH2O": (0.2490889, "kPa"),  # conventional
    "bar": (100.0, "kPa"),
    "mbar": (0.1, "kPa"),
    "atm": (101.325, "kPa"),
    "kgf/cm2": (98.0665, "kPa"),
    "mph": (1.609344, "km/h"),
    "kn": (1.852, "km/h"),
    "ft/s": (0.3048, "m/s"),
    "rpm": (0.1047198, "rad/s"),
    "lbf.ft": (1.355818, "Nm"),
    "lb": (0.4535924, "kg"),
    "gal": (3.785412, "l"),  # US liquid
    "hp": (0.7456999, "kW"),  # 550 ft·lbf/s
    "PS": (0.7354988, "kW"),  # metric
    "g": (9.80665, "m/s2"),
}

PINT = {
    "kPa": "kilopascal", "Pa": "pascal", "hPa": "hectopascal", "mbar": "millibar", "MPa": "MPa",
    "bar": "bar", "psi": "psi", "inHg": "inch_Hg", "mmHg": "mmHg", "atm": "atm",
    "kgf/cm2": "kgf/cm**2", "inH2O": "inch * water * standard_gravity",
    "degC": "degC", "degF": "degF", "K": "kelvin",
    "km/h": "km/hour", "mph": "mile/hour", "m/s": "m/s", "ft/s": "ft/s", "kn": "knot",
    "rpm": "rpm", "krpm": "krpm", "rps": "revolution/second", "rad/s": "rad/s",
    "deg": "degree", "rad": "radian", "mrad": "milliradian", "deg/s": "degree/second",
    "%": "percent", "1": "dimensionless", "‰": "permille", "ppm": "ppm",
    "V": "V", "mV": "mV", "A": "A", "mA": "mA", "ohm": "ohm",
    "s": "s", "ms": "ms", "us": "us", "min": "minute", "h": "hour", "Hz": "Hz", "kHz": "kHz",
    "m": "m", "mm": "mm", "cm": "cm", "km": "km", "in": "inch", "ft": "foot", "mi": "mile",
    "kg": "kg", "gram": "gram", "mg": "mg", "lb": "pound",
    "g/s": "gram/s", "kg/h": "kg/hour", "lb/min": "pound/minute",
    "mg/stroke": "mg", "g/stroke": "gram", "g/rev": "gram/revolution",
    "l": "liter", "ml": "milliliter", "gal": "gallon",
    "l/h": "liter/hour", "l/min": "liter/minute", "ml/min": "milliliter/minute",
    "gal/h": "gallon/hour",
    "g": "standard_gravity", "m/s2": "m/s**2", "N": "N", "Nm": "N*m", "lbf.ft": "lbf*foot",
    "kW": "kW", "W": "W", "hp": "horsepower", "PS": "metric_horsepower",
}  # fmt: skip
REGISTRY = pint.UnitRegistry(autoconvert_offset_to_baseunit=True)
OURS_ONLY = {"", "lambda", "AFR", "state", "kPaa", "kPag", "bara", "barg", "psia", "psig"}


@pytest.mark.parametrize(("unit", "value"), NIST_SP_811.items())
def test_factors_are_those_of_nist_sp_811(unit: str, value: tuple[float, str]) -> None:
    found = conversion(unit, value[1])
    assert found is not None
    assert found[0] == pytest.approx(value[0], rel=6e-7)
    assert found[1] == 0.0


@pytest.mark.parametrize("symbol", PINT)
def test_factors_are_those_of_pint(symbol: str) -> None:
    unit = parse_unit(symbol)
    assert unit is not None
    base = next(u for u in UNITS if u.kind == unit.kind and u.factor == 1.0 and u.offset == 0.0)
    for number in (0.0, 37.5, 1234.0):
        theirs = REGISTRY.Quantity(number, PINT[symbol]).to(PINT[base.symbol]).magnitude
        ours = convert(np.array([number]), symbol, base.symbol)[0]
        assert ours == pytest.approx(theirs, rel=2e-6, abs=1e-9)


def test_every_unit_is_checked_by_pint_or_is_a_convention_of_the_trade() -> None:
    assert {u.symbol for u in UNITS} == set(PINT) | OURS_ONLY


@pytest.mark.parametrize(
    ("symbol", "spellings"),
    [
        ("degC", "°C|C|degC|deg C|ºC|℃|[°C]|(C)|Grad C|Celsius|°С|Â°C|\ufffdC|摄氏度"),
        ("degF", "°F|F|degF|℉|Fahrenheit"),
        (
            "rpm",
            "rpm|RPM|1/min|min-1|min^-1|min⁻¹|U/min|tr/min|giri/min|obr/min|ot/min|об/мин|r/min",
        ),
        ("deg", "deg|°|°KW|°CA|°BTDC|Grad|grad|Grad KW|degrees|град|° CRK|°vOT"),
        ("kPa", "kPa|KPA|kpa|кПа"),
        ("psi", "psi|PSI|lbf/in²|lb/in2"),
        ("psig", "psig|PSIG|psi(g)"),
        ("psia", "psia|psi (abs)"),
        ("inHg", "inHg|in Hg|inHG|in.Hg"),
        ("mmHg", "mmHg|Torr|мм рт. ст."),
        ("mbar", "mbar|mBar|MBAR"),
        ("hPa", "hPa|hpa"),
        ("%", "%|pct|Prozent|percent"),
        ("1", "1|[1]|frac"),
        ("", "|-|--|()|[]"),
        ("us", "us|µs|μs|usec|мкс"),
        ("ms", "ms|msec|мс|ミリ秒"),
        ("s", "s|sec|Sek|с|秒"),
        ("km/h", "km/h|kph|kmh|км/ч|km/u"),
        ("mph", "mph|MPH|mi/h"),
        ("kn", "kn|kt|kts|knots|Knoten"),
        ("Nm", "Nm|N·m|N*m|Н·м"),
        ("V", "V|volt|Volts|В"),
        ("mV", "mV|mv"),
        ("m/s2", "m/s²|m/s^2|m/s2"),
        ("kPa/s", "kPa/s"),
        ("rpm/s", "rpm/s|U/min/s"),
        ("K", "K|kelvin"),
    ],
)
def test_a_unit_is_read_however_it_is_spelled(symbol: str, spellings: str) -> None:
    for text in spellings.split("|"):
        unit = parse_unit(text)
        assert unit is not None, text
        assert unit.symbol == symbol, text


@pytest.mark.parametrize("text", ["furlong", "kPa kPa", "deg C C", "??"])
def test_what_is_no_unit_is_none(text: str) -> None:
    assert parse_unit(text) is None
    assert conversion(text, "kPa") is None


def test_two_kinds_do_not_convert() -> None:
    assert conversion("kPa", "degC") is None
    assert conversion("deg", "deg/s") is None
    with pytest.raises(ValueError, match="'V' and '%'"):
        convert(np.array([1.0]), "V", "%")


def test_a_percentage_is_no_bare_number_but_a_fraction_may_be() -> None:
    assert conversion("", "%") is None
    assert conversion("1", "%") == (100.0, 0.0)
    assert conversion("1", "") == (1.0, 0.0)


def test_gauge_and_absolute_pressure_convert_by_factor_alone() -> None:
    assert conversion("psig", "psia") == (1.0, 0.0)
    gauge = parse_unit("psig")
    assert gauge is not None
    assert gauge.gauge is True


@given(st.sampled_from(UNITS), st.sampled_from(UNITS), st.floats(-1e6, 1e6))
def test_there_and_back_is_where_one_began(one: object, other: object, number: float) -> None:
    source, target = one.symbol, other.symbol  # type: ignore[attr-defined]
    if conversion(source, target) is None:
        return
    there = convert(np.array([number, np.nan]), source, target)
    back = convert(there, target, source)
    assert back[0] == pytest.approx(number, rel=1e-9, abs=1e-6)
    assert np.isnan(there[1])
    assert np.isnan(back[1])


@pytest.mark.parametrize(
    "text",
    [
        "° v. OT",
        "°KW v. OT",
        "°V.PMS",
        "dBTDC",
        "deg BTDC",
        "CA deg",
        "° до ВМТ",
        "°OWK przed GMP",
        "° avant PMH",
        "deg before TDC",
        "°BTDC CRK",
        "°CrA",
        "Grad KW",
        "°п.к.в.",
        "° före ÖD",
    ],
)
def test_degrees_of_the_crank_say_from_where_they_are_counted(text: str) -> None:
    unit = parse_unit(text)
    assert unit is not None
    assert unit.symbol == "deg"


@pytest.mark.parametrize(
    ("text", "kpa", "gauge"),
    [
        ("mbar abs", 0.1, False), ("hPa (abs)", 0.1, False), ("bar rel.", 100.0, True),
        ("psi a", 6.894757, False), ("kgf/cm² abs", 98.0665, False), ("bar ü", 100.0, True),
    ],
)  # fmt: skip
def test_pressures_say_from_where_they_are_counted(text: str, kpa: float, gauge: bool) -> None:
    unit = parse_unit(text)
    assert unit is not None
    assert (unit.factor, unit.gauge) == (kpa, gauge)


@pytest.mark.parametrize("text", ["CA", "before", "advance", "V abs", "d", "top dead centre"])
def test_the_words_of_where_alone_are_no_unit(text: str) -> None:
    assert parse_unit(text) is None
