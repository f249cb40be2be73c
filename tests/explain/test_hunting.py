"""An idle that hunts is not ordinary, with a sheet or without; a calm one is."""

from dataclasses import replace

import numpy as np
import pytest

from tests.explain.parts import drive, during
from tests.explain.told import first, told
from tests.runs import Run, climb, sheet
from tuneledger.arrays import FloatArray

RUN = climb()
GOVERNOR = {
    "id": "governor",
    "title": "Idle governor",
    "reason": "idle speed",
    "logged_as": "Governor share",
}
D = sheet("rev-d.toml", "D", [GOVERNOR])


def idling(swing_rpm: float, cycles_hz: float = 0.5, lasts_s: float = 10.0) -> Run:
    """A calm idle that swings so far, to and fro, for a while from the twentieth second on.

    It idles below the lowest speed of the map: scheduled stands still, delivered is the governor's.
    """
    t = RUN.times
    calm = 30 * np.sin(2.1 * t) * np.cos(0.4 * t)
    swing = swing_rpm * np.sin(2 * np.pi * cycles_hz * t)
    speed = 690 + np.where(during(RUN, 20, 20 + lasts_s), swing, calm)
    run = drive(speed, 0 * t, 40 + 0 * t)
    run = replace(run, signals={**run.signals, "idle speed target": 690 + 0 * t})
    return run.post("governor", np.round(np.interp(690 - speed, [-110, 0, 110], [-6, 0, 5]), 1))


def with_share(run: Run) -> Run:
    return run.carry("Governor share", run.entries[0].values)


@pytest.mark.parametrize("cycles_hz", [0.25, 0.4, 0.5, 1.0, 1.7])
@pytest.mark.parametrize("swing_rpm", [150.0, 200.0, 300.0])
def test_an_idle_that_hunts_is_not_ordinary(swing_rpm: float, cycles_hz: float) -> None:
    statement = told(with_share(idling(swing_rpm, cycles_hz)), D)
    assert statement.verdict != "expected"
    assert statement.exit_status == 1
    told_rpm = float(first(statement).says.split("hunts by about ±")[1].split(" rpm")[0])
    assert told_rpm == pytest.approx(swing_rpm, rel=0.2)


@pytest.mark.parametrize("lasts_s", [5.0, 8.0, 35.0])
def test_a_hunt_is_seen_however_long_the_calm_around_it(lasts_s: float) -> None:
    assert told(with_share(idling(200.0, 0.7, lasts_s)), D).verdict != "expected"


@pytest.mark.parametrize("cycles_hz", [0.4, 0.5, 1.0])
@pytest.mark.parametrize("swing_rpm", [200.0, 250.0, 300.0])
def test_an_idle_that_hunts_is_not_ordinary_without_a_sheet(
    swing_rpm: float, cycles_hz: float
) -> None:
    statement = told(idling(swing_rpm, cycles_hz))
    assert statement.verdict != "expected"
    assert not any(cause.expected for cause in statement.causes)


@pytest.mark.parametrize("swing_rpm", [20.0, 60.0, 80.0])
@pytest.mark.parametrize("cycles_hz", [0.3, 0.7])
def test_a_calm_idle_is_ordinary(swing_rpm: float, cycles_hz: float) -> None:
    assert told(with_share(idling(swing_rpm, cycles_hz)), D).verdict == "expected"


def test_one_dip_and_its_recovery_is_no_hunt() -> None:
    t = RUN.times
    speed = 690 + 20 * np.sin(2.1 * t) - 220 * np.exp(-(((t - 30) / 0.8) ** 2))
    run = drive(speed, 0 * t, 40 + 0 * t)
    run = replace(run, signals={**run.signals, "idle speed target": 690 + 0 * t})
    share = np.round(np.interp(690 - speed, [-110, 0, 110], [-6, 0, 5]), 1)
    assert told(with_share(run.post("governor", share)), D).verdict == "expected"


def test_coming_down_to_idle_through_the_gears_is_no_hunt() -> None:
    t = RUN.times
    down = np.interp(
        t,
        [0, 20, 22, 22.3, 24, 24.3, 26, 27, 60],
        [3200, 3100, 2100, 2500, 1600, 1900, 800, 690, 690],
    )
    speed = down + 25 * np.sin(2.1 * t)
    run = drive(speed, 0 * t, 40 + 0 * t)
    run = replace(run, signals={**run.signals, "idle speed target": 690 + 0 * t})
    share = np.where(down < 1300, np.interp(690 - speed, [-110, 0, 110], [-6, 0, 5]), 0.0)
    assert told(with_share(run.post("governor", np.round(share, 1))), D).verdict == "expected"


def test_a_governor_is_told_by_its_range_and_not_by_a_mean_that_means_nothing() -> None:
    statement = told(with_share(idling(60.0)), D)
    assert "moved the advance by −" in first(statement).says
    assert " to +" in first(statement).says


def coasting(run: Run, seconds: float, shifts_s: float, low: float, high: float) -> Run:
    """A coast down with a lower gear every so often: the speed falls, and leaps as it engages."""
    t = run.times
    here = during(run, 20, 20 + seconds)
    phase = (t - 20) % shifts_s / shifts_s
    coast = np.interp(phase, [0, 0.12, 1], [low, high, low])
    return with_speed(run, np.where(here, coast, 690 + 20 * np.sin(2.1 * t)))


def with_speed(run: Run, speed: FloatArray) -> Run:
    out = drive(speed, 0 * run.times, 40 + 0 * run.times)
    share = np.round(np.interp(690 - speed, [-110, 0, 110], [-6, 0, 5]), 1)
    return out.post("governor", share)


def logging(run: Run, **signals: FloatArray) -> Run:
    """The run with more signals logged, under their names with a low line for a blank."""
    return replace(
        run, signals={**run.signals, **{k.replace("_", " "): v for k, v in signals.items()}}
    )


def is_ordinary(run: Run) -> bool:
    return told(with_share(run), D).verdict == "expected"


@pytest.mark.parametrize("shifts_s", [1.2, 1.8])
@pytest.mark.parametrize(("low", "high"), [(700.0, 1250.0), (1300.0, 1800.0)])
@pytest.mark.parametrize("logged", ["nothing", "speed", "gear", "target", "all"])
def test_a_car_that_coasts_down_through_its_gears_does_not_hunt(
    logged: str, low: float, high: float, shifts_s: float
) -> None:
    run = coasting(RUN, 6.0, shifts_s, low, high)
    t, here = run.times, during(run, 20, 26)
    more = {
        "vehicle_speed": np.where(here, 38 - 4 * (t - 20), 0.0),
        "gear": np.where(here, np.maximum(1, 4 - np.floor((t - 20) / shifts_s)), 0.0),
        "idle_speed_target": 690 + 0 * t,
    }
    named = {"speed": "vehicle_speed", "target": "idle_speed_target"}.get(logged, logged)
    chosen = more if logged == "all" else {k: v for k, v in more.items() if k == named}
    assert is_ordinary(logging(run, **chosen))


@pytest.mark.parametrize("creeps_kmh", [6.0, 14.0])
def test_a_speed_that_swings_while_the_wheels_turn_is_no_idle(creeps_kmh: float) -> None:
    run = idling(200.0)
    moves = np.where(during(run, 15, 40), creeps_kmh, 0.0)
    assert is_ordinary(logging(run, vehicle_speed=moves))


@pytest.mark.parametrize("cycles_hz", [0.4, 1.0])
def test_an_idle_that_hunts_does_so_whatever_else_is_logged(cycles_hz: float) -> None:
    run = idling(200.0, cycles_hz)
    t = run.times
    drove = np.where(during(run, 2, 12), 30.0, 0.0)
    for more in (
        {"vehicle_speed": drove},
        {"vehicle_speed": 0 * t},
        {"vehicle_speed": 50 + 0 * t},  # a sensor that is stuck
        {"gear": np.where(during(run, 2, 12), 1.0, 0.0)},
        {"vehicle_speed": drove, "gear": np.where(during(run, 2, 12), 1.0, 0.0)},
    ):
        assert not is_ordinary(logging(run, **more)), more
    unaimed = {k: v for k, v in run.signals.items() if k != "idle speed target"}
    assert not is_ordinary(replace(run, signals=unaimed))


@pytest.mark.parametrize("every_s", [1.5, 2.5])
def test_blips_of_the_throttle_are_no_hunt(every_s: float) -> None:
    t = RUN.times
    phase = (t - 20) % every_s
    here = during(RUN, 20, 32)
    speed = 690 + 15 * np.sin(2.1 * t) + np.where(here, 600 * np.exp(-phase / 0.4), 0.0)
    plate = np.where(here & (phase < 0.2), 25.0, 0.0)
    run = drive(speed, plate, 40 + plate)
    share = np.where(plate < 2, np.interp(690 - speed, [-110, 0, 110], [-6, 0, 5]), 0.0)
    run = logging(run.post("governor", np.round(share, 1)), idle_speed_target=690 + 0 * t)
    assert is_ordinary(run)


def test_swings_that_die_out_after_a_pull_are_no_hunt() -> None:
    t = RUN.times
    dies = np.where(t > 20, 500 * np.exp(-(t - 20) / 0.7) * np.cos(4.5 * (t - 20)), 0.0)
    assert is_ordinary(logging(with_speed(RUN, 690 + dies), idle_speed_target=690 + 0 * t))
