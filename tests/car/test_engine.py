"""The virtual engine moves in the right direction, by a believable amount, at a believable pace."""

import json

import numpy as np
import pytest

from tests.shared import SHARED, needs_data
from tuneledger.car.drive import DT
from tuneledger.car.engine import Engine
from tuneledger.car.torque import crank_degrees
from tuneledger.car.vehicle import KESTREL, TURNSTONE, VEHICLES, Day
from tuneledger.torque import best_spark, crossley_cook

REF = SHARED / "data" / "ref"


@needs_data
def test_torque_follows_the_published_polynomial_in_air_spark_and_speed():
    # Crossley & Cook 1991, as printed in the Modelica Standard Library (BSD-3)
    for row in json.loads((REF / "torque_spark_crossley_cook.json").read_text())["values"]:
        air, rad_s, afr = row["ma_g"], row["N_rad_s"], row["AFR"]
        best = best_spark(air, rad_s)
        most = crossley_cook(air, afr, best, rad_s)
        assert best == pytest.approx(row["sigma_MBT_deg"])
        assert most == pytest.approx(row["T_MBT_Nm"])
        assert crossley_cook(air, afr, 15.0, rad_s) == pytest.approx(row["T_15deg_Nm"])
        for retard, ratio in row["ratio_at_retard"].items():
            late = crossley_cook(air, afr, best - float(retard), rad_s)
            assert late / most == pytest.approx(ratio)


@needs_data
def test_the_crankshaft_turns_six_degrees_per_rpm_and_second():
    # geometry: 360 degrees a turn, 60 seconds a minute
    for row in json.loads((REF / "crank_angle_time.json").read_text()):
        assert crank_degrees(row["rpm"], row["t_us"] * 1e-6) == pytest.approx(row["deg"])


def settle(engine: Engine, seconds: float, pedal: float = 0.0, spark: float = 14.0) -> Engine:
    for _ in range(round(seconds / DT)):
        engine.step(DT, pedal, spark, 0.0, 15.0 * engine.vehicle.displacement_l / 2.0)
    return engine


@pytest.mark.parametrize("vehicle", VEHICLES, ids=lambda v: v.name.split()[0])
def test_idle_settles_on_its_target(vehicle):
    engine = Engine(vehicle, Day())
    engine.start_idling()
    settle(engine, 12.0)
    assert engine.rpm == pytest.approx(engine.idle_target, rel=0.04)
    assert 15.0 < engine.map < 55.0  # kPa at idle: common practice, no source


def test_more_spark_at_idle_makes_the_engine_run_faster():
    slow, fast = Engine(KESTREL, Day()), Engine(KESTREL, Day())
    for engine, spark in ((slow, 6.0), (fast, 22.0)):
        engine.start_idling()
        settle(engine, 0.6, spark=spark)
    assert fast.rpm > slow.rpm + 50.0


def test_the_idle_target_is_higher_while_the_engine_is_cold():
    cold, warm = Engine(KESTREL, Day(coolant_c=10.0)), Engine(KESTREL, Day(coolant_c=90.0))
    assert cold.idle_target >= warm.idle_target + 200.0


def test_the_rev_limiter_cuts_and_lets_go_again():
    engine = Engine(KESTREL, Day())
    engine.start_idling()
    seen = []
    for _ in range(1200):
        engine.step(DT, 100.0, 15.0, 0.0, 0.0)
        seen.append(engine.rpm)
    top = np.array(seen[-400:])
    assert (
        KESTREL.redline - 400.0 < top.min() < KESTREL.redline < top.max() < KESTREL.redline * 1.05
    )


def test_overrun_is_without_fuel_and_lean_at_the_sensor():
    engine = Engine(KESTREL, Day())
    engine.start_idling()
    engine.rpm = 4500.0
    settle(engine, 0.4)
    assert engine.no_fuel
    assert engine.torque < 0.0
    assert engine.lambda_measured > 1.3


def test_oil_pressure_rises_with_speed_and_falls_with_heat():
    def pressure(rpm: float, oil_c: float) -> float:
        engine = Engine(KESTREL, Day(oil_c=oil_c))
        engine.rpm = rpm
        return engine.oil_kpa

    assert pressure(900, 90) < pressure(3000, 90) < pressure(4500, 90)
    assert pressure(2500, 60) > pressure(2500, 90) > pressure(2500, 120)
    assert pressure(0, 90) == 0.0


def test_boost_heats_the_intake_and_standing_soaks_it():
    day = Day(air_c=25.0, soak_c=15.0)
    standing = Engine(TURNSTONE, day)
    standing.start_idling()
    assert settle(standing, 20.0).intake_c > 30.0
    pulling = Engine(KESTREL, day)
    pulling.start_idling()
    for _ in range(2000):
        pulling.rpm = 5000.0
        pulling.step(DT, 100.0, 18.0, 0.0, 0.0)
    assert pulling.boost > 0.9 * KESTREL.boost_kpa
    assert pulling.intake_c > 40.0


def test_knock_comes_nearer_with_pressure_heat_and_spark():
    def margin(kpa: float, intake_c: float, spark: float) -> float:
        engine = Engine(KESTREL, Day(intake_c=intake_c))
        engine.rpm, engine.map, engine.spark = 4000.0, kpa, spark
        return engine.knock_margin

    assert margin(100, 30, 20) > margin(180, 30, 20) > margin(180, 60, 20) > margin(180, 60, 26)
