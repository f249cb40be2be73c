"""An idle that hunts is not ordinary, with a sheet or without; a calm one is."""

from dataclasses import replace

import numpy as np
import pytest

from tests.explain.parts import drive, during
from tests.explain.told import first, told
from tests.runs import Run, climb, sheet

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
