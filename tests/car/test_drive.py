"""Drives: what a driver does, and what the ECU's books say of it."""

import numpy as np
import pytest

from tests.car.bench import sheet
from tuneledger.car import profiles
from tuneledger.car.drive import DT, Plan, Run, drive
from tuneledger.car.driver import Leg
from tuneledger.car.ecu import Ecu
from tuneledger.car.sheets import calibration
from tuneledger.car.vehicle import AVOCET, GUILLEMOT, KESTREL, VEHICLES, Day, Vehicle

GOVERNOR = {
    "axes": [{"signal": "idle speed target", "minus": "engine speed", "unit": "rpm",
              "at": [-150.0, 0.0, 150.0]}],
    "values": [-6.0, 0.0, 6.0],
    "when": [{"signal": "throttle position", "unit": "%", "below": 2.0}],
}  # fmt: skip


def driven(vehicle: Vehicle, *legs: Leg, correction: dict[str, object] = GOVERNOR, **plan) -> Run:
    plan = {"day": Day(), "seed": 3} | plan
    made = Plan(vehicle, plan.pop("day"), legs, **plan)
    return drive(made, Ecu(calibration(sheet(correction)), fresh=True))


def at(run: Run, seconds: float) -> int:
    return round(seconds / DT)


def test_scheduled_and_entries_make_delivered_at_every_step():
    run = driven(KESTREL, Leg("idle", 2), Leg("pedal", 4, 80), Leg("coast", 2), Leg("idle", 2))
    total = run.scheduled + sum(run.entries.values())
    assert np.allclose(total, run.delivered)


def test_the_same_plan_gives_the_same_run_and_another_seed_another():
    legs = (Leg("idle", 1), Leg("pedal", 2, 60))
    one, again, other = (driven(KESTREL, *legs, seed=s) for s in (1, 1, 2))
    assert np.array_equal(one.delivered, again.delivered)
    assert not np.array_equal(one.columns["engine speed"], other.columns["engine speed"])


def test_a_launch_is_held_at_its_speed_and_then_goes_up_through_the_gears():
    run = driven(KESTREL, Leg("idle", 2), Leg("launch", 2, 100), Leg("pedal", 10, 100))
    held = run.columns["engine speed"][at(run, 3.0) : at(run, 4.0)]
    assert np.all(np.abs(held - KESTREL.launch_rpm) < 500.0)
    assert np.all(run.columns["launch"][at(run, 2.2) : at(run, 3.8)] == 1.0)
    gears = run.columns["gear"][at(run, 4.5) :]
    assert np.all(np.diff(gears) >= 0)
    assert gears[-1] >= 3
    assert run.columns["vehicle speed"][-1] > 90.0
    assert run.columns["engine speed"].max() < KESTREL.redline * 1.04


def test_a_cold_start_cranks_sags_and_runs():
    legs = (Leg("off", 1), Leg("crank", 1), Leg("idle", 4))
    run = driven(AVOCET, *legs, day=Day(coolant_c=15.0))
    assert np.all(run.void[: at(run, 0.9)])
    assert run.columns["module voltage"][at(run, 1.2) : at(run, 1.6)].min() < 10.5
    assert run.columns["engine speed"][-1] > AVOCET.idle
    assert not run.void[-1]


def test_a_launch_under_way_has_no_gears_and_gathers_speed_slowly():
    run = driven(GUILLEMOT, Leg("idle", 2), Leg("pedal", 12, 100))
    assert set(np.unique(run.columns["gear"])) <= {0.0, 1.0}
    assert 20.0 < run.columns["vehicle speed"][-1] < 70.0


def test_a_dynamometer_pull_sweeps_the_engine_speed():
    run = driven(KESTREL, Leg("idle", 1), Leg("pull", 8, 100, rpm=(2500.0, 7000.0)))
    speed = run.columns["engine speed"][at(run, 2.8) :]
    assert speed[0] == pytest.approx(2700.0, abs=500.0)
    assert speed[-1] == pytest.approx(7000.0, abs=250.0)


def test_oil_starves_in_corners_where_the_pickup_is_bad():
    legs = (Leg("idle", 1), Leg("pedal", 4, 40), Leg("pedal", 3, 40, lateral=1.0))
    good, bad = driven(KESTREL, *legs), driven(KESTREL, *legs, starve=0.4)
    assert (
        bad.columns["oil pressure"][-100:].mean()
        < 0.75 * good.columns["oil pressure"][-100:].mean()
    )


def test_the_driver_s_switches_are_on_when_the_plan_says():
    run = driven(KESTREL, Leg("idle", 3), switches={"wet": [(0.5, 1.5)]})
    assert run.columns["wet"][at(run, 1.0)] == 1.0
    assert run.columns["wet"][at(run, 2.0)] == 0.0


def test_retard_costs_acceleration():
    legs = (Leg("idle", 1), Leg("pedal", 9, 100))
    free = driven(KESTREL, *legs, correction={"amount": 0.0})
    held = driven(KESTREL, *legs, correction={"amount": -14.0})
    assert held.columns["vehicle speed"][-1] < free.columns["vehicle speed"][-1] - 2.0


def test_a_governor_steadies_the_idle_it_works_on():
    calm = driven(KESTREL, Leg("idle", 12))
    rough = driven(KESTREL, Leg("idle", 12), correction={"amount": 0.0})
    assert calm.columns["engine speed"].std() < rough.columns["engine speed"].std()


@pytest.mark.parametrize("profile", [*profiles.ALL, profiles.cold_start, profiles.harbour])
def test_every_profile_suits_every_vehicle(profile):
    rng = np.random.default_rng(1)
    for vehicle in VEHICLES:
        legs = profile(rng, vehicle)
        assert 20.0 < sum(leg.seconds for leg in legs) < 90.0
        assert all(leg.what in ("idle", "pedal") for leg in legs[:1]) or legs[0].what == "off"


def test_a_standard_cycle_is_followed():
    # WLTC class 3b: UN Global Technical Regulation No. 15, annex 1, as carried by the package
    # `wltp`; 1,800 s, checksum of all speeds 83,758.6, highest 131.3 km/h
    cycles = pytest.importorskip("wltp.cycles.class3")
    cycle = cycles.class_data_b()["cycle"]
    assert len(cycle) == 1801
    assert sum(cycle) == pytest.approx(83758.6)
    assert max(cycle) == pytest.approx(131.3)
    part = cycle[:100]
    plan = Plan(AVOCET, Day(), profiles.trace(part), tick=2)
    run = drive(plan, Ecu(calibration(sheet(GOVERNOR)), fresh=True), dt=0.01)
    wanted = np.interp(run.times, np.arange(len(part)), part)
    off = run.columns["vehicle speed"] - wanted
    assert np.sqrt(np.mean(off**2)) < 3.0
    assert np.trapezoid(run.columns["vehicle speed"], run.times) == pytest.approx(
        np.trapezoid(wanted, run.times), rel=0.05
    )
