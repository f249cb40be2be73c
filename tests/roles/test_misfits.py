"""A channel under a signal's own name whose numbers cannot be that signal."""

import numpy as np
import pytest

from tests.explain.labelled import written
from tests.roles.dressing import make_log
from tests.roles.drives import drive
from tests.runs import Run, along, charge_air, climb, sheet
from tuneledger.logs.model import Log
from tuneledger.roles import Roles, RolesFile, identify
from tuneledger.units import conversion

QUANTITIES = (
    "engine speed",
    "manifold absolute pressure",
    "throttle position",
    "intake air temperature",
    "engine coolant temperature",
    "vehicle speed",
    "module voltage",
    "scheduled advance",
    "delivered advance",
)


def log_with(signal: str, factor: float) -> Log:
    """A drive's log in which one channel counts in so many of its unit."""
    d = drive(305, 60)
    columns = {q: d.quantities[q] for q in QUANTITIES}
    values, unit = columns[signal]
    return make_log(columns | {signal: (np.round(values * factor, 2), unit)}, d.times)


@pytest.mark.parametrize(
    ("signal", "factor", "unit"),
    [
        ("engine speed", 10.0, "0.1 rpm"),
        ("engine speed", 0.1, "10 rpm"),
        ("engine coolant temperature", 10.0, "0.1 degC"),
        ("module voltage", 100.0, "0.01 V"),
    ],
)
def test_a_channel_that_counts_in_tens_or_tenths_is_found_and_not_used(
    signal: str, factor: float, unit: str
) -> None:
    log = log_with(signal, factor)
    roles = identify(log)
    assert roles.get(signal) is None
    (misfit,) = roles.misfits
    assert (misfit.signal, misfit.channel.name, misfit.unit) == (signal, signal, unit)
    assert any(f'"{signal}" = "{unit}"' in note for note in roles.notes)
    stated = identify(log, roles_file=RolesFile(units={signal: unit}))
    role = stated.get(signal)
    assert role is not None
    assert role.scale == pytest.approx(1.0 / factor)
    assert stated.misfits == ()


def test_the_starter_alone_turns_an_engine_as_slowly_as_it_is_logged() -> None:
    t = np.arange(0.0, 30.0, 0.05)
    turning = np.round(180.0 + 30.0 * np.sin(9.0 * t))
    still = np.zeros(t.size)
    columns = {
        "Engine speed": (turning, "rpm"),
        "Road speed": (still, "km/h"),
        "Throttle": (np.round(1.0 + 0.1 * np.sin(t), 1), "%"),
    }
    assert all(m.signal != "engine speed" for m in identify(make_log(columns, t)).misfits)


def test_a_temperature_that_stands_at_the_end_of_its_scale_carries_nothing() -> None:
    # SAE J1979, PID 0x0F: A − 40 °C, so that nothing at all is −40 °C
    d = drive(305, 60)
    columns = {q: d.quantities[q] for q in QUANTITIES}
    columns["intake air temperature"] = (np.full(d.times.size, -40.0), "degC")
    roles = identify(make_log(columns, d.times))
    assert roles.get("intake air temperature") is None
    (misfit,) = roles.misfits
    assert "stands at −40 °C throughout" in misfit.says


@pytest.mark.parametrize("seed", [305, 306, 307])
def test_channels_that_are_what_they_are_named_are_no_misfits(seed: int) -> None:
    d = drive(seed, 60)
    assert identify(make_log({q: d.quantities[q] for q in QUANTITIES}, d.times)).misfits == ()


def test_a_name_of_something_else_is_no_misfit() -> None:
    d = drive(305, 60)
    columns = {q: d.quantities[q] for q in QUANTITIES}
    columns["Gearbox temp"] = (np.round(60.0 + 5.0 * np.sin(d.times / 9.0)), "degC")
    columns["Exhaust temp"] = (np.round(700.0 + 90.0 * np.sin(d.times / 9.0)), "degC")
    roles: Roles = identify(make_log(columns, d.times))
    assert roles.misfits == ()


def test_the_statement_says_what_is_wrong_with_it_and_how_to_state_it() -> None:
    deg, at = (0.0, -1.0, -4.0, -7.0), (20.0, 40.0, 60.0, 80.0)
    run: Run = climb().post("charge-air", along(climb(), "intake air temperature", at, deg))
    tenths = written(
        run, sheet("rev-d.toml", "D", [charge_air(deg)]), change={"Inlet temp": lambda v: v * 10.0}
    )
    assert tenths.verdict == "cannot tell"
    assert "a factor of 10 is suspected" in tenths.headline
    assert '"Inlet temp" = "0.1 degC"' in tenths.headline
    (need,) = tenths.needs
    assert need.what == "intake air temperature"
    assert "Inlet temp is not fit for it" in need.why


def test_units_that_count_in_powers_of_ten() -> None:
    assert conversion("0.1 rpm", "rpm") == pytest.approx((0.1, 0.0))
    assert conversion("x10 rpm", "rpm") == pytest.approx((10.0, 0.0))
    assert conversion("0,1 °C", "degC") == pytest.approx((0.1, 0.0))
    # 10 · 0.1 °F are 1 °F, which are −17.2 °C (NIST SP 811, B.9)
    scale, offset = conversion("0.1 °F", "degC") or (0.0, 0.0)
    assert scale * 10.0 + offset == pytest.approx(-17.222, abs=1e-3)
    for other in ("3 rpm", "0-1", "100 km", "1/min", "12"):
        assert conversion(other, "km/h") is None
    assert conversion("3 rpm", "rpm") is None


def test_a_factor_is_not_suspected_of_a_channel_that_is_usual_for_most_of_the_run() -> None:
    """A few numbers far out, at no end that repeats, are a fault of their own and not a factor."""
    d = drive(305, 60)
    columns = {q: d.quantities[q] for q in QUANTITIES}
    values, unit = columns["delivered advance"]
    far = np.arange(d.times.size) % 9 == 0
    odd = np.where(far, 95.0 + np.arange(d.times.size) % 31, values)
    roles = identify(make_log(columns | {"delivered advance": (odd, unit)}, d.times))
    assert all(misfit.unit is None for misfit in roles.misfits)


@pytest.mark.parametrize("hardest", [10500.0, 13500.0])
def test_a_motorcycle_that_is_driven_hard_turns_as_fast_as_it_is_logged(hardest: float) -> None:
    """Most of the run far above any car's engine: common practice, no source."""
    d = drive(305, 60)
    columns = {q: d.quantities[q] for q in QUANTITIES}
    speed = columns["engine speed"][0]
    share = (speed - speed.min()) / np.ptp(speed)
    fast = np.round(1250.0 + (hardest - 1250.0) * share**0.2)
    assert np.median(fast) > 0.7 * hardest
    roles = identify(make_log(columns | {"engine speed": (fast, "rpm")}, d.times))
    assert roles.get("engine speed") is not None
    assert roles.misfits == ()
