"""What a set of readings says, and what it must not say."""

import json
from pathlib import Path

import numpy as np
import pytest

from tests.light.made import readings
from tests.shared import SHARED, needs_data
from tuneledger.light import timing_light
from tuneledger.light.fit import DEG_PER_RPM_US, fit_readings
from tuneledger.light.says import do, notes, says

SPEEDS = (900, 1500, 2200, 3000, 3800, 4500)
WOBBLE = (0.2, -0.2, 0.1, -0.1, 0.2, -0.2)


def test_six_degrees_per_second_and_rpm() -> None:
    """The rule of the trade: 1 ms is 6° at 1000 rpm (360° in 60 s at 1 rpm)."""
    assert pytest.approx(6.0) == 1000 * 1000 * DEG_PER_RPM_US


@needs_data
def test_the_degrees_of_a_delay_are_those_of_the_reference_table() -> None:
    table = json.loads((SHARED / "data/ref/crank_angle_time.json").read_text())
    for row in table:
        assert row["rpm"] * row["t_us"] * DEG_PER_RPM_US == pytest.approx(row["deg"])


@pytest.mark.parametrize("offset", [-12.0, -2.0, 0.7, 3.0, 25.0])
@pytest.mark.parametrize("delay", [-150.0, 60.0, 400.0])
def test_offset_and_delay_are_found_together(offset: float, delay: float) -> None:
    fit = fit_readings(readings(SPEEDS, offset=offset, delay_us=delay, noise=WOBBLE))
    assert fit.state == "correct"
    assert fit.offset_deg == pytest.approx(offset, abs=0.4)
    assert fit.delay_us == pytest.approx(delay, abs=20)
    assert fit.offset_interval_deg is not None
    assert fit.offset_interval_deg[0] <= offset <= fit.offset_interval_deg[1]
    assert fit.delay_interval_us is not None
    assert fit.delay_interval_us[0] <= delay <= fit.delay_interval_us[1]
    assert fit.exit_status == 1


def test_nineteen_in_twenty_intervals_hold_the_truth() -> None:
    """A 95 % interval is one that does; 2 standard errors of the count are allowed for."""
    rng = np.random.default_rng(7)
    runs, held = 200, np.zeros(2)
    for _ in range(runs):
        fit = fit_readings(
            readings(SPEEDS, offset=2, delay_us=80, noise=rng.normal(0, 0.3, len(SPEEDS)))
        )
        assert fit.offset_interval_deg is not None
        assert fit.delay_interval_us is not None
        held += (
            fit.offset_interval_deg[0] <= 2 <= fit.offset_interval_deg[1],
            fit.delay_interval_us[0] <= 80 <= fit.delay_interval_us[1],
        )
    allowed = 2 * np.sqrt(0.95 * 0.05 / runs)
    assert np.all(np.abs(held / runs - 0.95) <= allowed + 0.005)


def test_a_crank_that_gets_what_is_commanded_agrees() -> None:
    fit = fit_readings(readings(SPEEDS, noise=WOBBLE))
    assert fit.state == "agrees"
    assert fit.exit_status == 0
    assert says(fit).startswith("Agrees: the crank gets what the ECU commands")
    assert "Nothing to correct" in do(fit)


def test_where_a_reading_is_left_out_it_is_to_be_read_again_before_anyone_relies_on_the_rest() -> (
    None
):
    ahead = (*([0.1, -0.1] * 4)[: len(SPEEDS) - 1], 9.0)
    fit = fit_readings(readings(SPEEDS, noise=ahead))
    assert fit.state == "agrees"
    assert do(fit).startswith(f"Read reading {len(SPEEDS)} again before you rely on this")
    assert "Nothing to correct" not in do(fit)


def test_a_spark_that_comes_early_is_to_come_later() -> None:
    fit = fit_readings(readings(SPEEDS, offset=3, noise=WOBBLE))
    assert "3.1° earlier than commanded" in says(fit)
    assert "so that the spark comes later" in do(fit)
    assert "No load until then" in do(fit)


def test_a_spark_that_comes_late_is_to_come_earlier() -> None:
    fit = fit_readings(readings(SPEEDS, offset=-3, noise=WOBBLE))
    assert "2.9° later than commanded" in says(fit)
    assert "so that the spark comes earlier" in do(fit)
    assert "No load" not in do(fit)


def test_a_spark_that_falls_behind_needs_more_compensation_and_the_other_way_round() -> None:
    late = fit_readings(readings(SPEEDS, delay_us=120, noise=WOBBLE))
    early = fit_readings(readings(SPEEDS, delay_us=-120, noise=WOBBLE))
    assert "more delay" in do(late)
    assert "less delay" in do(early)
    assert "reference angle" not in do(late) + do(early)


def test_after_correcting_one_shoots_again_since_the_wrong_way_doubles() -> None:
    fit = fit_readings(readings(SPEEDS, offset=3, noise=WOBBLE))
    assert "shoot again, unloaded" in do(fit)
    assert "doubled" in do(fit)
    assert "Switch the fixed advance off before you drive on" in do(fit)


@pytest.mark.parametrize("rpm", [(900,), (900, 2000), (900, 2000, 4000)])
def test_too_few_readings_tell_nothing(rpm: tuple[int, ...]) -> None:
    fit = fit_readings(readings(rpm, offset=4))
    assert fit.state == "cannot tell"
    assert fit.exit_status == 3
    assert says(fit).startswith("Cannot tell yet")
    assert "change nothing" in do(fit)


def test_speeds_too_close_together_do_not_part_an_angle_from_a_time() -> None:
    fit = fit_readings(readings((900, 950, 1000, 1050, 1100), offset=4, delay_us=100))
    assert fit.state == "cannot tell"
    assert "too close together" in says(fit)


def test_readings_that_scatter_too_much_are_not_an_answer() -> None:
    fit = fit_readings(readings(SPEEDS[:4], offset=1, noise=(2.5, -2.0, 2.0, -2.5)))
    assert fit.state == "cannot tell"
    assert "scatter" in says(fit)


@pytest.mark.parametrize("row", [1, 3, 6])
@pytest.mark.parametrize("slip", [-10.0, 6.0])
def test_one_misread_mark_is_flagged_and_left_out(row: int, slip: float) -> None:
    fit = fit_readings(readings(SPEEDS, offset=2, delay_us=50, noise=WOBBLE, slips={row: slip}))
    assert fit.outlier_rows == (row,)
    assert fit.offset_deg == pytest.approx(2, abs=0.6)
    assert any(f"reading {row} (line {row + 1}" in note for note in notes(fit))


def test_two_misread_marks_do_not_hide_each_other() -> None:
    speeds = (900, 1200, 1600, 2000, 2500, 3000, 3600, 4200)
    fit = fit_readings(readings(speeds, offset=2, slips={6: 9.0, 8: 8.0}))
    assert fit.outlier_rows == (6, 8)
    assert fit.offset_deg == pytest.approx(2, abs=0.01)


def test_good_readings_are_seldom_flagged() -> None:
    rng = np.random.default_rng(3)
    alarms = 0
    for _ in range(200):
        noise = np.round(2 * rng.normal(0, 0.5, 9)) / 2  # a light is read to half a degree
        alarms += bool(fit_readings(readings(np.linspace(900, 5000, 9), noise=noise)).outlier_rows)
    assert alarms <= 10


def test_a_light_that_counts_double_is_suspected() -> None:
    fit = fit_readings(readings(SPEEDS, offset=10, noise=WOBBLE))
    assert any("twice commanded" in note for note in notes(fit))


def test_an_advance_that_was_not_fixed_is_told(tmp_path: Path) -> None:
    file = tmp_path / "r.csv"
    file.write_text("rpm,commanded,observed\n900,10,11\n1500,14,15\n2500,22,23\n4000,28,29\n")
    assert any("was not fixed (10° to 28°)" in note for note in notes(timing_light(file)))


def test_a_correction_found_while_the_advance_moved_is_seen_again_first(
    tmp_path: Path,
) -> None:
    file = tmp_path / "r.csv"
    file.write_text("rpm,commanded,observed\n900,10,12\n1500,14,16\n2500,22,24\n4000,28,30\n")
    first = "Read again at one fixed advance, and only if that shows the same: correct the"
    assert do(timing_light(file)).startswith(first)
    file.write_text("rpm,commanded,observed\n900,10,12\n1500,10,12\n2500,10,12\n4000,10,12\n")
    assert do(timing_light(file)).startswith("Correct the reference angle by 2.0°")
