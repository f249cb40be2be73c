"""`tuneledger convert`, as it is typed."""

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from tests.logs.packing import as_text, table
from tuneledger.cli.main import run
from tuneledger.logs import open_log


@pytest.mark.parametrize("ending", [".csv", ".parquet", ".arrow", ".mf4"])
def test_a_log_keeps_its_channels_units_and_values(
    ending: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    source = as_text(tmp_path / "run.txt")
    target = tmp_path / f"out{ending}"
    assert run(["convert", str(source), str(target)]) == 0
    assert "4 channels, 80 samples" in capsys.readouterr().out
    before, after = open_log(source), open_log(target)
    for channel in before.channels:
        if channel != before.time:
            other = after.find(channel.name)
            assert other is not None
            assert other.unit == channel.unit
            assert np.array_equal(after.values(other), before.values(channel))


def test_what_cannot_be_carried_over_is_said(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    rows = table().rows()
    lines = ["Time [s],Revs,Mode"] + [f"{r[0]},{r[1]},{'abc'[i % 3]}x" for i, r in enumerate(rows)]
    source = tmp_path / "run.csv"
    source.write_text("\n".join(lines) + "\n")
    assert run(["convert", str(source), str(tmp_path / "out.parquet")]) == 1
    assert "hold words and no numbers: Mode" in capsys.readouterr().out


@pytest.mark.parametrize("ending", [".csv", ".parquet", ".mf4"])
def test_single_cells_that_are_lost_are_said_with_their_place(
    ending: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    lines = [f"{n / 10},{n},{'torn' if n == 30 else 2 * n}" for n in range(90)]
    source = tmp_path / "run.csv"
    source.write_text("\n".join(["Time [s],Revs,Boost", *lines]) + "\n")
    assert run(["convert", str(source), str(tmp_path / f"out{ending}")]) == 1
    said = capsys.readouterr().out
    assert "Boost: 1 cell not read as a number (first in line 32: 'torn'); empty there" in said


def test_words_that_become_a_switch_are_said(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    lines = [f"{n / 10},{n},{'warm' if n > 40 else 'cold'}" for n in range(90)]
    source = tmp_path / "run.csv"
    source.write_text("\n".join(["Time [s],Revs,Mode", *lines]) + "\n")
    assert run(["convert", str(source), str(tmp_path / "out.parquet")]) == 0
    assert "Mode: 'cold' is read as 0; 'warm' is read as 1\n" in capsys.readouterr().out


def test_an_unknown_ending_writes_nothing(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    source = as_text(tmp_path / "run.csv")
    whole = source.read_bytes()
    assert run(["convert", str(source), str(tmp_path / "out.doc")]) == 2
    assert "cannot be written as '.doc'" in capsys.readouterr().err
    assert run(["convert", str(source), str(source)]) == 2
    assert not (tmp_path / "out.doc").exists()
    assert source.read_bytes() == whole


@pytest.mark.parametrize("ending", [".csv", ".parquet", ".arrow", ".mf4"])
def test_names_come_without_codes_that_move_a_cursor_or_turn_the_reading(
    ending: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    source, target = tmp_path / "run.csv", tmp_path / f"out{ending}"
    rows = "".join(f"{n / 10},{n},{2 * n}\n" for n in range(900))
    source.write_text(f"Time [s],\x1b[31mWet\u202e,می\u200cدان\n{rows}", encoding="utf-8")
    assert run(["convert", str(source), str(target)]) == 1
    assert r"cannot be seen: \x1b[31mWet\u202e" in capsys.readouterr().out
    names = [channel.header for channel in open_log(target).channels]
    assert all("\x1b" not in name and "\u202e" not in name for name in names)
    # a joiner that Persian words need stays (Unicode Standard, section 23.2)
    assert any("می\u200cدان" in name for name in names)


@pytest.mark.parametrize("opening", ["=1+1", "+5V", "-Retard", "@SUM", " =1", "＝1"])
def test_no_header_of_delimited_text_is_a_formula(
    opening: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    source, target = tmp_path / "run.csv", tmp_path / "out.csv"
    rows = "".join(f"{n / 10},{n},{-n}\n" for n in range(40))
    source.write_text(f"Time [s],Revs [rpm],{opening}\n{rows}", encoding="utf-8")
    assert run(["convert", str(source), str(target)]) == 1
    assert "take them for formulas" in capsys.readouterr().out
    lines = target.read_text(encoding="utf-8").splitlines()
    assert lines[0].split(",")[1:] == ["Revs [rpm]", f"'{opening.strip()}"]
    assert lines[2].endswith(",-1.0")  # numbers stay numbers


@pytest.mark.parametrize("ending", [".csv", ".mf4"])
@pytest.mark.parametrize(
    ("spoilt", "said"),
    [
        (lambda rows: [*rows, "9.1,9"], "cut off"),
        (lambda rows: [*rows[:40], "4,4,4,4,4", *rows[40:]], "line 42"),
        (lambda rows: [*rows[:40], ",4,8", *rows[40:]], "no time"),
    ],
)
def test_what_the_reader_left_out_is_said_as_look_says_it(
    spoilt: Callable[[list[str]], list[str]],
    said: str,
    ending: str,
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
) -> None:
    rows = spoilt([f"{n / 10},{n},{2 * n}" for n in range(900)])
    source = tmp_path / "run.csv"
    source.write_text("\n".join(["Time [s],Revs,Boost", *rows]))
    notes = open_log(source).notes
    assert any(said in note for note in notes)
    assert run(["convert", str(source), str(tmp_path / f"out{ending}")]) == 1
    out = capsys.readouterr().out
    assert all(note in out for note in notes)


@pytest.mark.parametrize("ending", [".csv", ".parquet", ".arrow", ".mf4"])
@pytest.mark.parametrize(
    "headers", [["=A", "'=A", "=A"], ["A", "A", "A #2"], ["A #2", "A", "a", "A", "time [s]"]]
)
def test_headers_that_come_to_be_spelled_alike_are_numbered(
    headers: list[str], ending: str, tmp_path: Path
) -> None:
    source, target = tmp_path / "run.csv", tmp_path / f"out{ending}"
    rows = [",".join(str(n * (k + 1)) for k in range(len(headers))) for n in range(40)]
    lines = ["Stamp [s]," + ",".join(headers), *(f"{n / 10},{row}" for n, row in enumerate(rows))]
    source.write_text("\n".join(lines) + "\n", encoding="utf-8")
    assert run(["convert", str(source), str(target)]) in (0, 1)
    log = open_log(target)
    found = [log.values(channel) for channel in log.channels if channel != log.time]
    assert [values[-1] for values in found] == [39.0 * (k + 1) for k in range(len(headers))]


def test_of_many_names_the_first_are_said_and_how_many_more(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    names = [f"=Sensor {k}" for k in range(9)]
    rows = "".join(f"{n / 10}" + f",{n}" * 9 + "\n" for n in range(40))
    (tmp_path / "run.csv").write_text(f"Time [s],{','.join(names)}\n{rows}", encoding="utf-8")
    assert run(["convert", str(tmp_path / "run.csv"), str(tmp_path / "out.csv")]) == 1
    assert f": {', '.join(names[:6])} and 3 more\n" in capsys.readouterr().out
