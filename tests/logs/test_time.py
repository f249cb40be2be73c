"""Which column is time, in which unit, and what a clock may do."""

from pathlib import Path

import numpy as np
import pytest

from tests.logs.writing import Dress, plain, steady_run, write
from tuneledger.errors import LogError
from tuneledger.logs import open_log
from tuneledger.logs.model import Log


def read(path: Path, *lines: str) -> Log:
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")
    return open_log(path)


def table(header: str, rows: list[str]) -> list[str]:
    return [header, *rows]


def times(log: Log) -> list[float]:
    return [float(t) for t in log.groups[0].times]


@pytest.mark.parametrize("form", ["s", "ms", "us", "clock", "minutes", "iso", "epoch"])
def test_time_is_read_in_every_form_a_logger_writes(tmp_path: Path, form: str) -> None:
    log = open_log(plain(tmp_path / "x", time_as=form))

    np.testing.assert_allclose(log.groups[0].times, np.arange(60) * 0.02, atol=1e-9)


def test_time_is_found_wherever_it_stands_and_whatever_it_is_called(tmp_path: Path) -> None:
    for name in ("Zeit", "Temps", "時間", "Время", "timestamp", "t", "Elapsed time", "Moment"):
        log = open_log(plain(tmp_path / "x", time_at=3, time_name=name, units="square"))
        assert log.time.name == name
        assert log.time.column == 3


def test_a_unit_at_the_end_of_the_name_is_heeded(tmp_path: Path) -> None:
    # Steps of 1 would be taken for seconds without the name's end.
    log = read(tmp_path / "x", "time_ms,Rev,Adv", *(f"{i},{900 + i},{i % 7}" for i in range(9)))

    assert log.duration_s == pytest.approx(0.008)


@pytest.mark.parametrize(
    ("step", "unit", "seconds"),
    [("1", "s", 1.0), ("10", "ms", 0.01), ("10000", "us", 0.01)],
)
def test_without_a_unit_the_step_tells_it_and_the_log_says_so(
    tmp_path: Path, step: str, unit: str, seconds: float
) -> None:
    rows = [f"{i * float(step):.10g},{900 + i},{i % 5}" for i in range(20)]
    log = read(tmp_path / "x", "Time,Rev,Adv", *rows)

    assert times(log)[1] == pytest.approx(seconds)
    assert f"'Time' has no unit; by its steps of {step} it counts in {unit}" in log.notes


def test_steps_of_fractions_without_a_unit_are_plainly_seconds(tmp_path: Path) -> None:
    rows = [f"{i * 0.01:.2f},{900 + i},{i % 5}" for i in range(20)]
    log = read(tmp_path / "x", "Time,Rev,Adv", *rows)

    assert log.rate_hz == 100
    assert log.notes == ()


def test_days_of_a_spreadsheet_are_time(tmp_path: Path) -> None:
    rows = [f"{45780.5 + i * 0.02 / 86400:.10f},{900 + i},{i % 5}" for i in range(30)]
    log = read(tmp_path / "x", "Time,Rev,Adv", *rows)

    np.testing.assert_allclose(log.groups[0].times, np.arange(30) * 0.02, atol=1e-4)


def test_a_label_that_no_log_can_keep_is_overruled_and_told(tmp_path: Path) -> None:
    rows = [f"{i * 0.02:.2f},{900 + i},{i % 5}" for i in range(30)]
    log = read(tmp_path / "x", "Time (ms),Rev,Adv", *rows)

    assert log.rate_hz == pytest.approx(50)
    assert any("labelled ms" in note for note in log.notes)


def test_a_slow_clock_labelled_seconds_keeps_its_label_with_a_doubt(tmp_path: Path) -> None:
    rows = [f"{i * 20},{900 + i},{i % 5}" for i in range(30)]
    log = read(tmp_path / "x", "Time (s),Rev,Adv", *rows)

    assert log.duration_s == 580
    assert any("if these are milliseconds" in note for note in log.notes)


def test_a_counter_of_rows_is_not_time(tmp_path: Path) -> None:
    rows = [f"{i},{900 + i % 3},{i * 0.05:.2f},{i * 7}" for i in range(30)]
    log = read(tmp_path / "x", "Frame,Rev,Stamp,Travelled [m]", *rows)

    assert log.time.name == "Stamp"
    assert log.rate_hz == pytest.approx(20)


@pytest.mark.parametrize(
    "columns",
    [
        "Frame,Rev,Distance [m]",
        "Sample no,Rev,Latitude",
        "Rev,Adv,Fuel used [l]",
        "Injection time [ms],Rev,Throttle",
        "Rev,Adv,Count",
    ],
)
def test_no_time_is_better_than_a_wrong_one(tmp_path: Path, columns: str) -> None:
    rng = np.random.default_rng(3)
    rise = np.cumsum(rng.uniform(0.2, 1.8, 40))
    rows = []
    for i in range(40):
        cells = []
        for name in columns.split(","):
            if name in ("Frame", "Sample no", "Count"):
                cells.append(str(i))
            elif name.split()[0] in ("Distance", "Latitude", "Fuel"):
                cells.append(f"{rise[i]:.3f}")
            else:
                cells.append(f"{rng.normal(50, 10):.1f}")
        rows.append(",".join(cells))

    with pytest.raises(LogError, match="no column is time"):
        read(tmp_path / "x", columns, *rows)


def test_an_even_raster_without_name_and_unit_is_taken_for_time_and_told(tmp_path: Path) -> None:
    rows = [f"{900 + i % 3},{i * 0.05:.2f},{i % 4}" for i in range(30)]
    log = read(tmp_path / "x", "Rev,Cell A,Adv", *rows)

    assert log.time.name == "Cell A"
    assert "no column is named time; 'Cell A' is taken for it" in log.notes


def test_the_finer_of_two_clocks_is_time(tmp_path: Path) -> None:
    rows = [f"12:00:{i // 20:02d},{i * 0.05:.2f},{900 + i % 9},{i % 4}" for i in range(80)]
    log = read(tmp_path / "x", "Time of day,Elapsed [s],Rev,Adv", *rows)

    assert log.time.name == "Elapsed"
    assert log.values(log.channels[0])[0] == 12 * 3600


def test_of_two_clocks_the_sound_one_is_time_and_the_other_is_told(tmp_path: Path) -> None:
    rows = [f"{(i if i < 30 else i - 9) * 0.1:.2f},{i * 0.1:.2f},{900 + i % 9}" for i in range(60)]
    log = read(tmp_path / "x", "Time [s],Timestamp [s],Rev", *rows)

    assert log.time.name == "Timestamp"
    assert "'Time' runs backwards in places; 'Timestamp' is time" in log.notes


def test_the_clock_may_pass_midnight(tmp_path: Path) -> None:
    log = open_log(write(tmp_path / "x", steady_run(start=86399.9), Dress(time_as="clock")))

    np.testing.assert_allclose(log.groups[0].times, np.arange(60) * 0.02, atol=1e-9)
    assert any("passes midnight" in note for note in log.notes)


def test_dates_carry_over_midnight_without_a_guess(tmp_path: Path) -> None:
    log = open_log(write(tmp_path / "x", steady_run(start=86399.9), Dress(time_as="iso")))

    np.testing.assert_allclose(log.groups[0].times, np.arange(60) * 0.02, atol=1e-6)
    assert not any("midnight" in note for note in log.notes)


def test_dates_are_read_in_the_order_that_rises(tmp_path: Path) -> None:
    day_first = read(
        tmp_path / "x", "When,Rev,Adv", "30.04.2026 23:59:59,1,2", "01.05.2026 00:00:01,2,3"
    )
    month_first = read(
        tmp_path / "y", "When,Rev,Adv", "04/30/2026 11:59:59 PM,1,2", "05/01/2026 12:00:01 AM,2,3"
    )

    assert times(day_first) == times(month_first) == [0, 2]


def test_a_full_counter_goes_on(tmp_path: Path) -> None:
    stamps = [(65400 + 20 * i) % 65536 for i in range(20)]
    log = read(
        tmp_path / "x", "Time (ms),Rev,Adv", *(f"{s},{i},{i % 3}" for i, s in enumerate(stamps))
    )

    np.testing.assert_allclose(log.groups[0].times, np.arange(20) * 0.02)
    assert any("16 bits" in note for note in log.notes)


def test_time_that_runs_backwards_is_refused_with_its_row(tmp_path: Path) -> None:
    rows = [f"{t:.2f},{900 + t},{t % 5:.0f}" for t in (0.0, 0.1, 0.2, 0.3, 0.25, 0.4, 0.5)]

    with pytest.raises(LogError) as caught:
        read(tmp_path / "run.csv", "Time (s),Rev,Adv", *rows)

    fault = caught.value.faults[0]
    assert fault.file == "run.csv"
    assert fault.place == "row 5 (line 6 of the file), column 'Time'"
    assert "0.25 s follows 0.3 s" in fault.found
    assert caught.value.exit_status == 2


def test_a_second_recording_in_the_same_file_is_refused_with_advice(tmp_path: Path) -> None:
    part = [f"{t / 10:.1f},{900 + t},{t % 5}" for t in range(30)]

    with pytest.raises(LogError, match=r"another recording begins there.*file of its own"):
        read(tmp_path / "x", "Time,Rev,Adv", *part, "Time,Rev,Adv", *part)


def test_a_log_sorted_backwards_is_told_to_be_sorted(tmp_path: Path) -> None:
    part = [f"{t / 10:.1f},{900 + t},{t % 5}" for t in range(30)]

    with pytest.raises(LogError, match="Sort the file by time"):
        read(tmp_path / "x", "Time,Rev,Adv", *part[::-1])


@pytest.mark.parametrize("at", [1, 15, 29])
@pytest.mark.parametrize("stamp", ["9e300", "4e7"])
def test_a_time_that_leaps_by_more_than_a_year_is_refused_with_its_row(
    tmp_path: Path, at: int, stamp: str
) -> None:
    part = [f"{stamp if t >= at else t / 10},{900 + t},{t % 5}" for t in range(30)]

    with pytest.raises(LogError, match=rf"row {at + 1} .*leaps by more than a year: \S+ .*follows"):
        read(tmp_path / "x", "Time [s],Rev,Adv", *part)


def test_a_clock_that_never_moves_is_refused(tmp_path: Path) -> None:
    with pytest.raises(LogError, match="time stands still: every row has the same"):
        read(tmp_path / "x", "Time,Rev,Adv", *(f"1.0,{900 + i},{i % 5}" for i in range(30)))


def test_a_clock_that_stops_on_the_way_is_refused_with_its_row(tmp_path: Path) -> None:
    stamps = [*range(40), *[39] * 30, *range(40, 60)]
    rows = [f"{s / 100:.2f},{900 + i},{i % 5}" for i, s in enumerate(stamps)]

    with pytest.raises(LogError, match=r"row 40 .*stands still for 31 rows at 0.39 s"):
        read(tmp_path / "x", "Time,Rev,Adv", *rows)


def test_rows_that_share_a_coarse_tick_are_spread_over_it(tmp_path: Path) -> None:
    rows = [f"{i // 4},{900 + i},{i % 5}" for i in range(40)]
    log = read(tmp_path / "x", "Time [s],Rev,Adv", *rows)

    np.testing.assert_allclose(log.groups[0].times, np.arange(40) * 0.25)
    assert any("30 rows repeat the time" in note and "up to 1.0 s" in note for note in log.notes)


def test_a_logger_that_hangs_and_catches_up_is_spread_too(tmp_path: Path) -> None:
    stamps = [*range(40), *[39] * 30, *range(70, 90)]
    rows = [f"{s / 100:.2f},{900 + i},{i % 5}" for i, s in enumerate(stamps)]
    log = read(tmp_path / "x", "Time [s],Rev,Adv", *rows)

    assert (np.diff(log.groups[0].times) > 0).all()


def test_rows_that_complete_each_other_keep_their_instant(tmp_path: Path) -> None:
    rows = [f"{i // 2 / 50:.2f}," + (f"{900 + i}," if i % 2 else f",{i % 5}") for i in range(40)]
    log = read(tmp_path / "x", "Time [s],Rev,Adv", *rows)

    np.testing.assert_allclose(log.groups[0].times, np.arange(40) // 2 / 50)
    assert any("samples of the same instant" in note for note in log.notes)


def test_a_pause_is_told(tmp_path: Path) -> None:
    stamps = [*range(50), *range(300, 350)]
    rows = [f"{s / 100:.2f},{900 + i},{i % 5}" for i, s in enumerate(stamps)]
    log = read(tmp_path / "x", "Time [s],Rev,Adv", *rows)

    assert "no samples from 0.5 to 3.0 s" in log.notes
