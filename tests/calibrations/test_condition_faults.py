"""Faults in readings and conditions, however deep, are refused with their full path."""

# ruff: noqa: E501 (a fault stands on one line, as a person sees it)

import pytest

from tests.calibrations.sheets import (
    RPM,
    faults_in,
    faults_of,
    faults_when,
    with_corrections,
)


@pytest.mark.parametrize(
    ("condition", "faults"),
    [
        ('{above = 3}', ["reads nothing; expected one of signal, channel or since"]),
        (f'{{{RPM}, channel = "R", above = 3}}', ["reads signal and channel at once; expected one of signal, channel or since"]),
        ('{channel = "R"}', ["compares with nothing; expected one of above, below, between or is"]),
        ('{channel = "R", above = 3, below = 4}', ["compares with above and below at once; expected one comparison in each condition. Write two conditions: all in the list must be true."]),
        ('{channel = "R", above = 3, release = 4}', ["release: release at 4, above 3; expected a release of at most 3"]),
        ('{channel = "R", below = 3, release = -4.5}', ["release: release at −4.5, below 3; expected a release of at least 3"]),
        ('{channel = "R", is = "on", release = 4}', ["release: release without above or below; expected a threshold to be released from"]),
        ('{channel = "R", between = [3, 2]}', ["between: 3 is above 2; expected the lower number first"]),
        ('{channel = "R", between = [3]}', ["between: a list of 1; expected two numbers, the lower one first"]),
        ('{channel = "R", between = [1, 2, 3]}', ["between: a list of 3; expected two numbers, the lower one first"]),
        ('{channel = "R", is = true}', ['is: true; expected the word "on" or "off", or a number']),
        ('{channel = "R", is = "ON"}', ['is: "ON"; expected the word "on" or "off", or a number']),
        ('{channel = "R", is = "active"}', ['is: "active"; expected the word "on" or "off", or a number']),
        ('{channel = "R", above = 3, held = -1}', ["held: −1; expected a number of at least 0"]),
        ('{channel = "R", above = 3, linger = "1 s"}', ['linger: "1 s"; expected a number']),
        ('{channel = "R", above = 3, hold = 1}', ['hold: unknown key. Did you mean "held"?']),
        ('{chanel = "R", above = 3}', ['chanel: unknown key. Did you mean "channel"?']),
        ('{channel = "R", abov = 3}', ['abov: unknown key. Did you mean "above"?']),
        ('{corection = "x", is = "active"}', ['corection: unknown key. Did you mean "correction"?', 'corection: no correction "x". There are c0.']),
        ('{channel = "", above = 3}', ['channel: ""; expected some text']),
        ("{any = []}", ["any: an empty list; expected at least 1"]),
        ("{}", ["reads nothing; expected one of signal, channel or since", "compares with nothing; expected one of above, below, between or is"]),
        ('"Wet switch"', ['"Wet switch"; expected a condition in braces']),
        ("55", ["55; expected keys such as signal, channel or since"]),
    ],
)  # fmt: skip
def test_conditions(condition: str, faults: list[str]) -> None:
    assert faults_when(condition) == faults


def test_a_release_may_equal_its_threshold() -> None:
    assert faults_when(f"{{{RPM}, above = 3, release = 3}}") == []
    assert faults_when(f"{{{RPM}, below = 3, release = 3}}") == []


@pytest.mark.parametrize(
    ("reading", "faults"),
    [
        ('signal = "engine sped"', ['signal: no signal "engine sped". Did you mean "engine speed"?']),
        ('signal = "engine speed", unit = "kPa"', ['unit: "kPa" for engine speed; expected a unit that turns into rpm']),
        ('signal = "gear", unit = "rpm"', ['unit: "rpm" for gear; expected no unit']),
        ('channel = "Slip", unit = "furlong"', ['unit: no unit "furlong". Leave unit out to take the channel as the log has it.']),
        ('signal = "oil temperature", unit = "furlong"', ['unit: no unit "furlong"; expected a unit such as degC']),
        ('signal = "oil temperature", unit = "Grad", rate = 1', ['unit: "Grad" for oil temperature; expected a unit that turns into degC']),
        ('signal = "engine speed", unit = "rpm per s", rate = 1', ['unit: no unit "rpm per s"; expected a unit such as rpm. Give the unit of the quantity itself; per second is understood.']),
        ('signal = "engine speed", rate = 0', ["rate: 0; expected a number above 0"]),
        ('signal = "oil temperature", minus = "engine speed"', ["minus: engine speed cannot be taken from oil temperature in degC; expected two quantities of one kind"]),
        ('signal = "oil temperature", unit = "degF", minus = "gear"', ["minus: gear cannot be taken from oil temperature in degF; expected two quantities of one kind"]),
        ('since = {channel = "B", is = "on"}, unit = "rpm"', ['unit: "rpm" for seconds since a condition; expected a unit that turns into s']),
        ('since = {channel = "B", is = "on"}, rate = 2', ["rate: rate of the seconds since a condition; expected since by itself"]),
        ('since = {channel = "B"}', ["since: compares with nothing; expected one of above, below, between or is"]),
        ('since = "start"', ['since: "start"; expected a condition in braces']),
    ],
)  # fmt: skip
def test_readings(reading: str, faults: list[str]) -> None:
    assert faults_when(f"{{{reading}, above = 3}}") == faults
    body = f"axes = [{{{reading}, at = [1, 2]}}]\nvalues = [0, 1]"
    assert [f.removeprefix("axes[0].") for f in faults_in(body)] == faults


@pytest.mark.parametrize(
    "reading",
    [
        'signal = "engine speed", unit = "krpm"',
        'signal = "gear", unit = ""',
        'signal = "intake air temperature", unit = "°F"',
        'signal = "manifold absolute pressure", minus = "barometric pressure", unit = "psi"',
        'signal = "engine speed", over = "vehicle speed", unit = "rpm"',
        'signal = "idle speed target", minus = "engine speed", over = "engine speed"',
        'channel = "Slip", minus = "Slip target", rate = 0.5',
        'since = {channel = "B", is = "on"}, unit = "ms"',
    ],
)
def test_readings_that_are_right(reading: str) -> None:
    assert faults_when(f"{{{reading}, above = 3}}") == []


def test_a_condition_names_only_corrections_that_stand_before_its_own() -> None:
    def when(name: str) -> str:
        return f'amount = 1\nwhen = [{{correction = "{name}", is = "active"}}]'

    bodies = [when(name) for name in ("c1", "c1", "c0", "c00", "winter")]
    assert [f.removeprefix("spark.correction") for f in faults_of(with_corrections(*bodies))] == [
        '[0].when[0].correction: "c1" comes later; expected one that stands earlier in the sheet',
        '[1].when[0].correction: "c1" is this correction itself; '
        "expected one that stands earlier in the sheet",
        '[3].when[0].correction: no correction "c00". Did you mean "c0"?',
        '[4].when[0].correction: no correction "winter". There are c0, c1, c2, c3 and c4.',
    ]
    assert faults_when('{correction = "c0"}') == [
        'correction: "c0" is this correction itself; expected one that stands earlier in the sheet',
        'is: missing; expected the word "active"',
    ]
    assert 'is: "on"; expected the word "active"' in faults_when('{correction = "z", is = "on"}')


def test_faults_deep_inside_any_since_and_until_have_their_full_path() -> None:
    inner = '{any = [{channel = "a", is = "on"}, {since = {channel = "b", is = 1, x = 2}, above = "1"}]}'
    assert faults_in(f"amount = 1\nwhen = [{inner}]\nuntil = {inner}") == [
        f"{place}.any[1].{fault}"
        for place in ("when[0]", "until")
        for fault in (
            "since.x: unknown key. Known here are signal, channel, since, unit, minus, over, rate, "
            "above, below, between, is, release, held and linger.",
            'above: "1"; expected a number',
        )
    ]
    assert faults_in('amount = 1\nuntil = "ignition off"') == [
        'until: "ignition off"; expected a condition in braces, or "power off"'
    ]
    assert faults_in("amount = 1\nuntil = 5") == [
        'until: 5; expected a condition in braces, or "power off"'
    ]


def test_a_since_in_the_map_has_no_correction_before_it() -> None:
    axis = '{since = {correction = "c0", is = "active"}, at = [0, 5]}'
    text = with_corrections("amount = 1").replace(
        "amount = 20", f"axes = [{axis}]\nvalues = [1, 2]"
    )
    assert faults_of(text) == [
        'spark.map.axes[0].since.correction: "c0" comes later; '
        "expected one that stands earlier in the sheet"
    ]
