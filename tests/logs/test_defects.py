"""Logs with defects: what is left out is told, what cannot be trusted is refused."""

import math
from pathlib import Path

import pytest

from tuneledger.errors import LogError
from tuneledger.logs import open_log
from tuneledger.logs.model import Log

HEADER = "Time [s];Rev;Adv;Wet"


def rows(number: int = 300) -> list[str]:
    return [f"{i * 0.02:.2f};{900 + i};{i % 40 / 4 + 0.25:.2f};off" for i in range(number)]


def read(path: Path, lines: list[str], end: str = "\n") -> Log:
    path.write_bytes(("\n".join([HEADER, *lines]) + end).encode())
    return open_log(path)


def values(log: Log, name: str) -> list[float]:
    channel = log.find(name)
    assert channel is not None
    return [float(v) for v in log.values(channel)]


def test_a_last_line_cut_in_a_number_is_left_out_and_told(tmp_path: Path) -> None:
    # "12." would read as 12 where the logger was about to write 12.75.
    log = read(tmp_path / "x", [*rows(), "6.00;1200;12."], end="")

    assert log.samples == 300
    assert any("last line is cut off" in note for note in log.notes)


def test_a_last_line_cut_in_its_last_cell_is_left_out(tmp_path: Path) -> None:
    path = tmp_path / "x"
    lines = [f"{i * 0.02:.2f};{i % 40 / 4:.2f};{900 + i}" for i in range(50)]
    path.write_text("\n".join(["Time;Adv;Rev", *lines, "1.00;3.25;12"]))

    assert open_log(path).samples == 50


@pytest.mark.parametrize(
    ("header", "line"),
    [
        ("Time;Rev;Adv", "{t:.2f};900;{a:.2f}"),
        ("Time;Rev;Wet", "{t:.2f};900;off"),
        ("Time;Rev;Adv", "{t:.2f};900;12;"),
    ],
)
def test_a_last_line_that_shows_its_end_is_kept_without_a_line_end(
    tmp_path: Path, header: str, line: str
) -> None:
    path = tmp_path / "x"
    lines = [line.format(t=i * 0.02, a=i % 7) for i in range(50)]
    path.write_text("\n".join([header, *lines]))

    log = open_log(path)

    assert log.samples == 50
    assert not any("cut off" in note for note in log.notes)


def test_zero_bytes_left_by_a_power_cut_are_no_sample(tmp_path: Path) -> None:
    path = tmp_path / "x"
    path.write_bytes("\n".join([HEADER, *rows(), ""]).encode() + b"\0" * 3000)
    assert open_log(path).samples == 300

    path.write_bytes("\n".join([HEADER, *rows(), "6.00;12"]).encode() + b"\0" * 3000)
    log = open_log(path)
    assert log.samples == 300
    assert any("cut off" in note for note in log.notes)


def test_a_few_torn_rows_are_left_out_and_told(tmp_path: Path) -> None:
    lines = rows()
    lines[100] = "2.00;1000"
    lines[200] += ";7;8"
    log = read(tmp_path / "x", lines)

    assert log.samples == 298
    assert values(log, "Rev")[99:101] == [999, 1001]
    assert any("2 rows with too few or too many cells left out" in n for n in log.notes)
    assert any("first: line 102" in n for n in log.notes)


@pytest.mark.parametrize("torn", [4, 30, 150])
def test_many_torn_rows_make_a_log_unusable(tmp_path: Path, torn: int) -> None:
    lines = rows()
    for i in range(torn):
        lines[2 * i] = lines[2 * i].rsplit(";", 2)[0]

    with pytest.raises(LogError, match=f"{torn} of 300 rows have another number of cells") as e:
        read(tmp_path / "x", lines)
    assert e.value.faults[0].place == "line 2"


def test_empty_cells_left_off_at_the_end_of_a_row_are_no_tear(tmp_path: Path) -> None:
    path = tmp_path / "x"
    lines = [f"{i * 0.02:.2f};{900 + i}" + (f";{i};mark" if i % 25 == 0 else "") for i in range(99)]
    path.write_text("\n".join(["Time;Rev;Coolant;Note", *lines, ""]))

    log = open_log(path)

    assert log.samples == 99
    assert sum(math.isfinite(v) for v in values(log, "Coolant")) == 4


def test_decimal_commas_between_commas_are_recognised_for_what_they_are(tmp_path: Path) -> None:
    path = tmp_path / "x"
    lines = [f"{i // 50},{i % 50:02d},9{i % 10},5,12,25" for i in range(99)]
    path.write_text("\n".join(["Time,Rev,Adv", *lines, ""]))

    with pytest.raises(LogError, match="decimal commas, export with semicolons"):
        open_log(path)


def test_comments_and_a_repeated_header_inside_are_left_out_and_told(tmp_path: Path) -> None:
    lines = rows()
    lines[50:50] = ["# marker: turn 3", ""]
    lines[150:150] = [HEADER]
    log = read(tmp_path / "x", lines)

    assert log.samples == 300
    assert values(log, "Rev") == list(range(900, 1200))
    assert any("2 rows with no time left out (lines 52, 152" in note for note in log.notes)
    assert not log.cell_notes


def test_a_log_without_time_in_many_rows_is_refused(tmp_path: Path) -> None:
    lines = [row if i % 5 else ";" + row.split(";", 1)[1] for i, row in enumerate(rows())]

    with pytest.raises(LogError, match="60 of 300 rows have no time"):
        read(tmp_path / "x", lines)


def test_cells_that_are_no_numbers_are_counted_and_shown(tmp_path: Path) -> None:
    lines = rows()
    lines[7] = lines[7].replace(";907;", ";9#7;")
    lines[9] = lines[9].replace(";909;", ";overflow;")
    log = read(tmp_path / "x", lines)

    assert [i for i, v in enumerate(values(log, "Rev")) if math.isnan(v)] == [7, 9]
    assert log.cell_notes == ("Rev: 2 cells not read as a number (first in line 9: '9#7')",)


def test_a_column_of_words_is_no_channel_of_numbers_and_no_fuss(tmp_path: Path) -> None:
    path = tmp_path / "x"
    lines = [f"{i * 0.02:.2f};{900 + i};{('cold', 'warm', 'hot', 'off')[i % 4]}" for i in range(99)]
    path.write_text("\n".join(["Time;Rev;State", *lines, ""]))
    log = open_log(path)

    assert all(math.isnan(v) for v in values(log, "State"))
    state = log.find("State")
    assert state is not None
    assert log.columns.words(state.column) == ("cold", "warm", "hot", "off")
    assert not log.cell_notes
