"""Units and signs that contradict their label are read from the values, and said."""

import numpy as np
import pytest

from tests.roles.dressing import make_log
from tests.roles.drives import drive
from tuneledger.logs.model import Log
from tuneledger.roles import Role, RolesFile, identify

PSI, AIR = 6.894757, 101.325
NAMES = {
    "engine speed": "Engine speed",
    "manifold absolute pressure": "Manifold pressure",
    "barometric pressure": "Barometer",
    "throttle position": "Throttle",
    "engine coolant temperature": "Coolant temp",
    "oil temperature": "Oil temp",
    "intake air temperature": "Intake air temp",
    "vehicle speed": "Vehicle speed",
    "module voltage": "Battery voltage",
    "measured lambda": "Lambda",
    "scheduled advance": "Ignition base",
    "delivered advance": "Ignition final",
}


def log_with(without: tuple[str, ...] = (), seed: int = 4, **changed: tuple[object, str]) -> Log:
    """Kestrel-like log; `changed`: signal with _ for blanks → (function of its values, label)."""
    d = drive(seed, 45)
    columns = {}
    for signal, name in NAMES.items():
        values, unit = d.quantities[signal]
        change = changed.get(signal.replace(" ", "_"))
        if change is not None:
            values, unit = change[0](values), change[1]  # type: ignore[operator]
        if signal not in without:
            columns[name] = (values, unit)
    return make_log(columns, d.times)


def role(log: Log, signal: str, **more: object) -> Role:
    found = identify(log, **more).by_signal[signal]  # type: ignore[arg-type]
    assert found.channel.name == NAMES[signal]
    return found


def agrees(log: Log, signal: str, seed: int = 4, within: float = 0.6) -> bool:
    """Whether the role's reading gives back what the drive was."""
    found = role(log, signal)
    true = drive(seed, 45).of(signal)
    return bool(np.nanmax(np.abs(found.read(log.values(found.channel)) - true)) < within)


@pytest.mark.parametrize(
    ("signal", "change", "label", "within"),
    [
        ("manifold absolute pressure", lambda v: v / PSI, "kPa", 0.6),
        ("manifold absolute pressure", lambda v: v / 100, "psi", 0.6),
        ("manifold absolute pressure", lambda v: v * 1.0, "psi", 0.6),
        ("engine coolant temperature", lambda v: v * 1.8 + 32, "degC", 0.6),
        ("oil temperature", lambda v: v * 1.8 + 32, "degC", 0.6),
        ("throttle position", lambda v: v / 100, "%", 0.6),
        ("barometric pressure", lambda v: v * 10, "kPa", 0.6),
        ("measured lambda", lambda v: v * 14.7, "", 0.02),
    ],
)
def test_a_wrong_or_missing_label_is_seen_through(
    signal: str, change: object, label: str, within: float
) -> None:
    log = log_with(**{signal.replace(" ", "_"): (change, label)})
    assert agrees(log, signal, within=within)
    found = role(log, signal)
    if label:
        assert found.relabelled == "unit"
        assert any(NAMES[signal] in note for note in identify(log).notes)


@pytest.mark.parametrize(
    ("signal", "change", "label"),
    [
        ("manifold absolute pressure", lambda v: v / PSI, "psi"),
        ("manifold absolute pressure", lambda v: v * 10, "mbar"),
        ("engine coolant temperature", lambda v: v * 1.8 + 32, "°F"),
        ("vehicle speed", lambda v: v / 1.609344, "mph"),
        ("throttle position", lambda v: v / 100, "1"),
        ("engine speed", lambda v: v / 60, "1/s"),
    ],
)
def test_what_is_as_labelled_is_only_converted(signal: str, change: object, label: str) -> None:
    log = log_with(**{signal.replace(" ", "_"): (change, label)})
    assert agrees(log, signal)
    assert role(log, signal).relabelled is None


def test_a_plain_log_is_read_as_it_stands() -> None:
    roles = identify(log_with())
    assert set(NAMES) <= set(roles.by_signal)
    assert all(r.relabelled is None for r in roles.by_signal.values())
    assert roles.notes == ()


def test_gauge_pressure_is_made_absolute_by_the_logged_air() -> None:
    log = log_with(manifold_absolute_pressure=(lambda v: v - drive(4, 45).baro, "kPa"))
    assert agrees(log, "manifold absolute pressure", within=1.0)


def test_gauge_pressure_is_made_absolute_by_the_standard_air_where_none_is_logged() -> None:
    log = log_with(
        without=("barometric pressure",), manifold_absolute_pressure=(lambda v: v - 101.325, "kPa")
    )
    found = role(log, "manifold absolute pressure")
    assert found.offset == pytest.approx(AIR)


@pytest.mark.parametrize("signal", ["scheduled advance", "delivered advance"])
def test_an_advance_logged_with_the_sign_turned_is_turned_back(signal: str) -> None:
    log = log_with(**{signal.replace(" ", "_"): (lambda v: -v, "deg")})
    found = role(log, signal)
    assert (found.scale, found.relabelled) == (-1.0, "sign")
    assert agrees(log, signal)


def test_a_roles_file_overrules_the_unit_and_nothing_is_read_against_it() -> None:
    log = log_with()
    told = RolesFile(units={"Coolant temp": "degF"})
    found = identify(log, roles_file=told)
    coolant = found.get("engine coolant temperature")
    assert found.units == {"Coolant temp": "degF"}
    if coolant is not None:
        assert coolant.unit == "degF"
        assert coolant.relabelled is None


def test_one_temperature_shown_in_fahrenheit_makes_unlabelled_ones_fahrenheit() -> None:
    hot = lambda v: v * 1.8 + 32  # noqa: E731
    log = log_with(
        engine_coolant_temperature=(hot, ""),
        oil_temperature=(hot, ""),
        intake_air_temperature=(hot, ""),
    )
    assert role(log, "intake air temperature").unit == "degF"
    assert agrees(log, "intake air temperature")


def test_an_advance_that_repeats_its_samples_is_said_to_be_held() -> None:
    d = drive(4, 45)
    rows = np.arange(d.times.size) // 5 * 5
    log = log_with(delivered_advance=(lambda v: v[rows], "deg"))
    assert role(log, "delivered advance").held
    assert not role(log, "scheduled advance").held
