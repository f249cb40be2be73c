"""One advance and no other: which of the two it is, and when nobody can say."""

import numpy as np
import pytest

from tests.roles.dressing import make_log, sheet_of
from tests.roles.drives import Drive, drive
from tuneledger.logs.model import Log
from tuneledger.roles import Roles, identify

QUANTITIES = (
    "engine speed",
    "manifold absolute pressure",
    "throttle position",
    "intake air temperature",
    "engine coolant temperature",
    "vehicle speed",
    "module voltage",
)
# What names say who say advance and not which.
PLAIN = ("Timing 1", "Ignition timing", "Zündwinkel", "Avance allumage", "Ign Adv", "角度点火")


def log_of(d: Drive, name: str, quantity: str, *, also: tuple[str, ...] = ()) -> Log:
    columns = {q: d.quantities[q] for q in (*QUANTITIES, *also)}
    return make_log(columns | {name: d.quantities[quantity]}, d.times)


def named(roles: Roles) -> dict[str, str]:
    return {s: r.channel.name for s, r in roles.by_signal.items() if s.endswith("advance")}


@pytest.mark.parametrize("name", PLAIN)
def test_an_advance_that_is_a_plain_map_under_a_plain_name_may_be_either_of_the_two(
    name: str,
) -> None:
    for seed in (300, 301, 302):
        roles = identify(log_of(drive(seed, 60), name, "scheduled advance"))
        assert named(roles) == {}
        doubt = next(d for d in roles.doubts if d.signal == "delivered advance")
        ((channel, sure), instead) = doubt.candidates[0], doubt.instead
        assert channel.name == name
        assert instead is not None
        assert instead[0] == "scheduled advance"
        assert 0.2 < instead[1] < 0.8
        assert 0.2 < sure < 0.8


def test_an_advance_that_leaves_every_map_is_what_was_used() -> None:
    # 4° taken for a second here and there, with speed and load as they were: no map does that
    found = 0
    for seed in range(300, 308):
        d = drive(seed, 60)
        values, unit = d.quantities["scheduled advance"]
        taken = np.where((d.times % 9) < 3, -4.0, 0.0)
        columns = {q: d.quantities[q] for q in QUANTITIES} | {"Timing 1": (values + taken, unit)}
        roles = named(identify(make_log(columns, d.times)))
        assert "scheduled advance" not in roles
        found += "delivered advance" in roles
    assert found >= 6


@pytest.mark.parametrize("name", ["Timing Advance", "SPARKADV", "Ignition Timing Advance"])
def test_the_diagnostic_port_reports_the_advance_that_was_used(name: str) -> None:
    # SAE J1979: PID 0x0E is A/2 − 64, PID 0x04 and 0x11 are A · 100/255, PID 0x05 is A − 40
    for seed in (300, 301, 302):
        d = drive(seed, 60)
        step = {"throttle position": 100 / 255, "engine coolant temperature": 1.0}
        columns = {
            q: (np.round(d.of(q) / step.get(q, 0.01)) * step.get(q, 0.01), d.quantities[q][1])
            for q in QUANTITIES
        }
        throttle = np.clip(columns["throttle position"][0], 0.0, 100.0)
        columns["throttle position"] = (np.round(throttle, 1), "%")
        values = np.round(d.of("scheduled advance") * 2.0) / 2.0
        roles = named(identify(make_log(columns | {name: (values, "°")}, d.times)))
        assert roles == {"delivered advance": name}


def test_the_words_of_the_standard_alone_do_not_make_a_log_one_of_the_port() -> None:
    # steps of 0.01 % and of 0.1° are none of SAE J1979's
    roles = identify(log_of(drive(300, 60), "Timing Advance", "scheduled advance"))
    assert named(roles) == {}


def test_beside_a_sheet_nobody_logs_its_map_alone_but_a_number_counts_two() -> None:
    # common practice, no source: a log with one advance shows the one that was used
    d = drive(301, 60)
    plain, counted = (
        identify(log_of(d, name, "scheduled advance"), sheets=[sheet_of(d)])
        for name in ("Ignition timing", "Timing 2")
    )
    role = plain.get("delivered advance")
    assert role is not None
    assert role.certainty < 0.9
    assert named(counted) == {}


@pytest.mark.parametrize(
    ("name", "signal"),
    [("Spark used", "delivered advance"), ("Zündwinkel Kennfeld", "scheduled advance")],
)
def test_a_name_that_says_which_it_is_settles_it(name: str, signal: str) -> None:
    roles = named(identify(log_of(drive(301, 60), name, "scheduled advance")))
    assert roles == {signal: name}


def retarded(d: Drive, name: str, sign: float) -> Log:
    """Scheduled advance beside what a correction takes, a third of the time."""
    taken = np.where((d.times % 9) < 3, sign * 4.5 * np.sin(d.times) ** 2, 0.0)
    columns = {q: d.quantities[q] for q in QUANTITIES}
    columns |= {"Spark base": d.quantities["scheduled advance"], name: (np.round(taken, 1), "deg")}
    return make_log(columns, d.times)


@pytest.mark.parametrize("name", ["Spark retard", "Zurücknahme", "Adv corr", "Timing", "ch 12"])
@pytest.mark.parametrize("sign", [1.0, -1.0])
def test_what_is_taken_from_the_advance_is_not_the_advance(name: str, sign: float) -> None:
    roles = identify(retarded(drive(305, 60), name, sign))
    assert named(roles) == {"scheduled advance": "Spark base"}
    assert not any(d.signal == "delivered advance" for d in roles.doubts)


@pytest.mark.parametrize("sign", [1.0, -1.0])
def test_a_retard_is_told_for_what_it_looks_like(sign: float) -> None:
    roles = identify(retarded(drive(305, 60), "Spark retard", sign))
    ((channel, looks),) = roles.parts
    assert channel.name == "Spark retard"
    assert "0° in" in looks
    assert ("4.5°" if sign > 0 else "−4.5°") in looks


def test_beside_the_delivered_advance_a_retard_needs_no_word() -> None:
    d = drive(305, 60)
    log = retarded(d, "Spark retard", 1.0)
    columns = {c.name: (log.values(c), c.unit) for c in log.channels if c != log.time}
    columns["Spark used"] = (columns["Spark base"][0] - columns["Spark retard"][0], "deg")
    roles = identify(make_log(columns, d.times))
    assert named(roles) == {"scheduled advance": "Spark base", "delivered advance": "Spark used"}
    assert roles.parts == ()
