"""Logs in which the engine did one thing only: an idle, a steady cruise, a full pull."""

import numpy as np
import pytest

from tests.roles.dressing import languages, make_log
from tuneledger.accounting import reconcile
from tuneledger.arrays import FloatArray
from tuneledger.logs.model import Log
from tuneledger.roles import Roles, RolesFile, identify
from tuneledger.statement.model import Statement
from tuneledger.supplied import Supplied

# Languages that the program's own words cover, and a logger's short names.
SPOKEN = (
    "english", "sae", "german", "french", "spanish", "italian", "portuguese", "dutch", "polish",
    "swedish", "czech", "russian", "japanese", "chinese",
)  # fmt: skip
UNITS = {
    "engine speed": "rpm",
    "throttle position": "%",
    "manifold absolute pressure": "kPa",
    "engine coolant temperature": "degC",
    "vehicle speed": "km/h",
    "scheduled advance": "deg",
    "delivered advance": "deg",
}
PLACES = {"engine speed": 0, "engine coolant temperature": 0}
Columns = dict[str, FloatArray]


def one_thing(what: str, seed: int) -> tuple[Columns, FloatArray]:
    """Forty seconds of one thing, drawn from the seed."""
    rng = np.random.default_rng(seed)
    t = np.arange(0.0, 40.0, 0.05)
    hunt = np.convolve(rng.normal(0, 250, t.size + 40), np.ones(41) / 41, "valid")[: t.size]
    noise = rng.normal(0, 1, t.size)
    coolant = 86.0 + 3.0 * np.sin(t / 15.0)
    if what == "idle":
        aim = float(rng.uniform(700, 1150))
        speed, road = aim + hunt, 0.0 * t
        throttle = rng.uniform(0.0, 0.9) + 0.1 * np.abs(noise)
        pressure = rng.uniform(28, 40) + 0.3 * noise
        scheduled = 13.0 + 0.01 * (speed - aim)
        delivered = scheduled - 0.04 * (speed - aim)
    elif what == "cruise":
        speed = rng.uniform(1900, 3200) + 0.3 * hunt
        road = speed / rng.uniform(28, 36)
        throttle = rng.uniform(9, 22) + 0.4 * noise
        pressure = rng.uniform(48, 70) + 0.6 * noise
        scheduled = 31.0 + 0.002 * hunt + 0.1 * noise
        delivered = scheduled - 3.0 * (t > 20.0)
    else:
        speed = 3900.0 + rng.uniform(2400, 3300) * (t % 8.0) / 8.0
        road = speed / 34.0
        throttle = rng.uniform(97, 100) + 0.1 * noise
        pressure = rng.uniform(95, 190) + 0.8 * noise
        scheduled = 20.0 + 8.0 * (speed - 3900.0) / 3300.0
        delivered = scheduled - 4.0 * (speed > 5200.0)
    values = (speed, throttle, pressure, coolant, road, scheduled, delivered)
    columns = dict(zip(UNITS, values, strict=True))
    return {s: np.round(v, PLACES.get(s, 1)) + 0.0 for s, v in columns.items()}, t


def logged(columns: Columns, times: FloatArray, language: str, seed: int) -> tuple[Log, Columns]:
    """The log in a language, and its columns by the names they have there."""
    rng = np.random.default_rng(seed)
    words = languages()[language]
    names = {s: str(rng.choice(words[s])) if s in words else s for s in columns}
    return make_log({names[s]: (v, UNITS[s]) for s, v in columns.items()}, times), {
        names[s]: v for s, v in columns.items()
    }


@pytest.mark.parametrize("language", SPOKEN)
@pytest.mark.parametrize("what", ["idle", "cruise", "full load"])
def test_speed_and_throttle_are_known_though_the_engine_did_one_thing_only(
    what: str, language: str
) -> None:
    for seed in range(4):
        columns, times = one_thing(what, seed)
        log, named = logged(columns, times, language, seed)
        roles = identify(log)
        unfit = {m.signal for m in roles.misfits}
        assert not unfit, (what, language, seed, unfit)
        for signal in ("engine speed", "throttle position"):
            role = roles.get(signal)
            assert role is not None, (signal, list(named))
            assert (role.scale, role.offset) == (1.0, 0.0)
            assert np.array_equal(named[role.channel.name], columns[signal])


def throttle_of(values: FloatArray, label: str, what: str = "idle") -> Roles:
    columns, times = one_thing(what, 5)
    named = {s: (v, UNITS[s]) for s, v in columns.items()}
    return identify(make_log(named | {"throttle position": (values, label)}, times))


@pytest.mark.parametrize("at", [0.0, 0.3, 0.5, 0.9])
def test_a_throttle_that_stands_shut_below_one_percent_is_no_fraction(at: float) -> None:
    role = throttle_of(np.full(800, at), "%").get("throttle position")
    assert role is not None
    assert role.scale == 1.0


def test_a_fraction_that_is_labelled_percent_is_still_found_where_the_engine_pulls() -> None:
    fraction = np.round(0.55 + 0.4 * np.sin(np.arange(800) / 40.0), 3)
    role = throttle_of(fraction, "%", "full load").get("throttle position")
    assert role is not None
    assert role.scale == pytest.approx(100.0)


def told(
    what: str, seed: int, change: Columns | None = None, label: str | None = None
) -> Statement:
    columns, times = one_thing(what, seed)
    columns |= change or {}
    labels = UNITS | ({"engine speed": label} if label is not None else {})
    log = make_log({s: (v, labels[s]) for s, v in columns.items()}, times)
    return reconcile(Supplied(((log, identify(log)),), ()))


@pytest.mark.parametrize("seed", [11, 12, 13])
def test_the_idle_governor_is_known_in_a_log_of_an_idle_alone(seed: int) -> None:
    said = told("idle", seed)
    assert said.verdict == "expected"
    assert "the idle governor" in said.headline


@pytest.mark.parametrize("label", ["rpm", ""])
def test_a_speed_that_stands_at_0_is_an_engine_that_does_not_turn(label: str) -> None:
    still = {"engine speed": np.zeros(800)}
    said = told("cruise", 3, still, label)
    assert said.verdict == "cannot tell"
    assert "the engine never turned" in said.headline
    assert said.causes == ()


def plate_of(values: FloatArray, label: str, what: str, signal: str, drop: str = "") -> float:
    """By how much the numbers of a plate are multiplied to be a percentage; 0.0 where in doubt."""
    columns, times = one_thing(what, 5)
    named = {s: (v, UNITS[s]) for s, v in columns.items() if s not in (drop, "throttle position")}
    role = identify(make_log(named | {signal: (values, label)}, times)).get(signal)
    return 0.0 if role is None else role.scale


OPEN = {
    "wide open throughout": np.ones(800),
    "nearly open": np.round(0.97 + 0.03 * np.sin(np.arange(800) / 30.0), 3),
    "opening": np.round(np.clip(0.6 + np.arange(800) / 400.0, 0.6, 1.0), 3),
    "from a little": np.round(np.clip(0.2 + np.arange(800) / 300.0, 0.2, 1.0), 3),
}


@pytest.mark.parametrize("signal", ["throttle position", "accelerator position"])
@pytest.mark.parametrize("label", ["%", "", "1"])
@pytest.mark.parametrize("how", OPEN)
def test_a_plate_that_is_open_at_full_load_is_never_read_as_shut(
    how: str, label: str, signal: str
) -> None:
    """One that never goes beyond 1 while the manifold is full of air: a fraction, or a doubt."""
    assert plate_of(OPEN[how], label, "full load", signal) in (100.0, 0.0)


@pytest.mark.parametrize("signal", ["throttle position", "accelerator position"])
@pytest.mark.parametrize("how", ["wide open throughout", "opening", "from a little"])
def test_without_a_manifold_pressure_a_plate_near_1_is_a_fraction_too(
    how: str, signal: str
) -> None:
    found = plate_of(OPEN[how], "%", "full load", signal, drop="manifold absolute pressure")
    assert found in (100.0, 0.0)


def test_a_plate_that_is_shut_on_the_overrun_stays_percent() -> None:
    columns, times = one_thing("full load", 5)
    columns["manifold absolute pressure"] = 24.0 + 0.0 * times
    named = {s: (v, UNITS[s]) for s, v in columns.items()}
    shut = np.round(0.75 + 0.05 * np.sin(times), 2)
    role = identify(make_log(named | {"throttle position": (shut, "%")}, times)).get(
        "throttle position"
    )
    assert role is None or role.scale == 1.0


def test_a_start_before_an_idle_does_not_open_a_throttle() -> None:
    """Before the engine turns, the manifold holds the outside air."""
    columns, times = one_thing("idle", 5)
    standing = times < 2.0
    columns["manifold absolute pressure"][standing] = 100.0
    columns["engine speed"][standing] = 0.0
    named = {s: (v, UNITS[s]) for s, v in columns.items()}
    shut = np.round(0.93 + 0.02 * np.sin(times), 2)
    role = identify(make_log(named | {"throttle position": (shut, "%")}, times)).get(
        "throttle position"
    )
    assert role is None or role.scale == 1.0


def test_a_unit_that_somebody_told_is_not_read_against() -> None:
    columns, times = one_thing("full load", 5)
    named = {s: (v, UNITS[s]) for s, v in columns.items()}
    log = make_log(named | {"throttle position": (OPEN["opening"], "")}, times)
    role = identify(log, roles_file=RolesFile({}, {"throttle position": "%"})).get(
        "throttle position"
    )
    assert role is None or role.scale == 1.0
