"""Input that is no usable log: a person hears what it is, where, and what to do; status 2."""

import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

from tests.logs.writing import plain
from tests.shared import SHARED, needs_cases, needs_data
from tuneledger.errors import LogError
from tuneledger.logs import FORMATS, open_log, recognise
from tuneledger.logs.source import open_source

SHEET = """
format = "tuneledger-calibration/1"
revision = "D"
[spark.map]
axes = [
  { signal = "engine speed", unit = "rpm", at = [
     900, 2000, 3500,
     4000, 4500, 5000,
     5500, 6000, 7000,
  ] },
]
values = [16.0, 30.0, 35.0, 36.0, 36.0, 35.0, 34.0, 33.0, 31.0]
"""
PROSE = """The car came in on Monday, cold, with the plugs out. We drove 3 laps, 12 minutes each,
and the advance was 4 degrees down, 5 at the most, from 5000 rpm on.
Charge air was 52, 54, 61 degrees; oil 98, 101, 104.
"""
NOT_LOGS = {
    "sheet": SHEET,
    "prose": PROSE,
    "object": '{"t": [0.0, 0.1, 0.2],\n "rev": [900, 950, 980]}\n',
    "list": "[\n[0.0, 900, 12.5],\n[0.1, 950, 12.5],\n[0.2, 980, 12.0]\n]\n",
    "lines of objects": '{"t": 0.0, "rev": 900}\n{"t": 0.1, "rev": 950}\n' * 20,
    "list with names": '[["Time", "Rev"],\n[0.0, 900],\n[0.1, 950],\n[0.2, 980]]\n',
    "web page": "<html><table>\n" + "<tr><td>0.0</td><td>900</td></tr>\n" * 9 + "</table></html>\n",
    "program": "import numpy as np\nt, n = [0, 1, 2], [3, 4, 5]\nprint(t, n)\n",
    "settings": "[log]\nrate = 50\nchannels = 12, 13, 14\n[car]\nname = Kestrel\n",
    "numbers": "0.0,900,12.5\n0.1,950,12.5\n0.2,980,12.0\n" * 9,
    "one column": "Time\n0.0\n0.1\n0.2\n",
}


@pytest.mark.parametrize("kind", NOT_LOGS)
def test_what_is_no_log_is_not_claimed_and_refused_in_words(tmp_path: Path, kind: str) -> None:
    path = tmp_path / "run.csv"
    path.write_text(NOT_LOGS[kind])

    assert recognise(path) is None
    with pytest.raises(LogError) as caught:
        open_log(path)
    fault = caught.value.faults[0]
    assert (fault.file, caught.value.exit_status) == ("run.csv", 2)
    assert fault.expected
    assert fault.do


@pytest.mark.parametrize(
    "content",
    [
        bytes(range(256)) * 20,
        b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR" * 9,
    ],
)
def test_bytes_that_are_no_text_are_not_claimed(tmp_path: Path, content: bytes) -> None:
    path = tmp_path / "run.csv"
    path.write_bytes(content)

    with pytest.raises(LogError, match="this is not text"):
        open_log(path)


def test_the_name_of_a_file_plays_no_part(tmp_path: Path) -> None:
    form = recognise(plain(tmp_path / "calibration.toml"))
    assert form is not None
    assert form.name == "delimited text"


@needs_cases
def test_none_of_the_shared_sheets_and_truths_is_claimed() -> None:
    for path in [*SHARED.glob("cases/*/*.toml"), *SHARED.glob("cases/*/*.json")]:
        assert recognise(path) is None, path


@needs_data
def test_binary_logs_are_told_by_their_content() -> None:
    for path in SHARED.glob("data/mdf/*"):
        form = recognise(path)
        binary = path.suffix.lower() == ".mf4"
        assert (form.name if form else None) == ("ASAM MDF" if binary else None), path


def test_detectors_never_raise_whatever_the_bytes(tmp_path: Path) -> None:
    whole = plain(tmp_path / "x", units="row", preamble=("a;b", '"')).read_bytes()
    path = tmp_path / "cut"
    for size in range(1, len(whole), 37):
        for data in (whole[:size], whole[-size:], whole[:size][::-1]):
            path.write_bytes(data)
            for form in FORMATS:
                form.detect(open_source(path))


def test_any_part_of_a_log_is_read_or_refused_in_words(tmp_path: Path) -> None:
    whole = plain(tmp_path / "x", units="row", preamble=("a;b", '"')).read_bytes()
    path = tmp_path / "cut"
    for size in range(1, len(whole), 23):
        for data in (whole[:size], whole[-size:], whole[:size] + b"\xff\x00" + whole[size:]):
            path.write_bytes(data)
            refused_in_words(path)


def refused_in_words(path: Path) -> bool:
    """Whether the file is refused; anything but a `LogError` with advice goes through."""
    try:
        log = open_log(path)
    except LogError as refused:
        if not all(fault.do for fault in refused.faults):
            raise
        return True
    for channel in log.channels:
        log.values(channel)
    return False


def test_a_name_of_endless_characters_is_cut_or_refused_in_words(tmp_path: Path) -> None:
    path = tmp_path / "long.csv"
    rows = "".join(f"{i / 10},{800 + i},1\n" for i in range(40))
    path.write_text(f'Time,"Engine speed",{"x" * 1_000_000}\n{rows}')
    assert [len(channel.name) for channel in open_log(path).channels] == [4, 12, 200]
    path.write_text(f'Time,"Engine speed",{"x" * 5_000_000}\n{rows}')
    with pytest.raises(LogError, match="no table of numbers"):
        open_log(path)


def test_an_empty_file(tmp_path: Path) -> None:
    path = tmp_path / "run.csv"
    path.write_bytes(b"")
    with pytest.raises(LogError, match=r"run.csv: the file is empty"):
        open_log(path)


@pytest.mark.parametrize(
    "content",
    [
        "Time,Rev,Adv\n",
        "Time,Rev,Adv",
        "Time [s];Rev [rpm]\n",
        "Kestrel\nsecond run\nTime,Rev,Adv\ns,1/min,deg\n",
        "時間\t回転数\t油温\t油圧\t車速\tギア\t吸気温\t冷却水温\t燃圧\t横G\t目標点火時期\t実点火時期",
        "Time,Engine speed,Road speed,Oil temp,Air temp,Coolant temp,Adv asked,Adv given\n",
    ],
)
def test_a_header_only(tmp_path: Path, content: str) -> None:
    path = tmp_path / "run.csv"
    path.write_text(content)
    with pytest.raises(LogError, match="there is a header row but no samples"):
        open_log(path)


@pytest.mark.parametrize(
    "letter",
    [
        "Hello,\n\nthe car pulled badly on the hill yesterday. I think the timing is not what I\n"
        "asked for, about 3 degrees short near the top, I attach revision D.\n\nBest wishes\n",
        "Hallo,\n\nder Wagen zog gestern am Berg schlecht; ich glaube, die Zündung ist nicht so,\n"
        "wie ich sie wollte.\n\nViele Grüße\n",
    ],
)
def test_a_letter_is_told_as_one(tmp_path: Path, letter: str) -> None:
    path = tmp_path / "letter.txt"
    path.write_text(letter, encoding="utf-8")
    with pytest.raises(LogError, match="reads like a letter or a note"):
        open_log(path)


def test_a_single_sample(tmp_path: Path) -> None:
    path = tmp_path / "run.csv"
    path.write_text("Time,Rev,Adv\n0.0,900,12\n")
    with pytest.raises(LogError) as caught:
        open_log(path)
    assert caught.value.faults[0].do


def test_no_channel_holds_a_number(tmp_path: Path) -> None:
    path = tmp_path / "run.csv"
    path.write_text("Time,Rev,Adv,Wet\n" + "".join(f"{i / 10},---,,n/a\n" for i in range(40)))
    with pytest.raises(LogError, match="no channel holds a single number"):
        open_log(path)


def test_one_channel_that_is_missing_throughout_is_no_obstacle(tmp_path: Path) -> None:
    path = tmp_path / "run.csv"
    path.write_text("Time,Rev,Adv\n" + "".join(f"{i / 10},{900 + i},---\n" for i in range(40)))
    log = open_log(path)
    assert log.series(log.channels[2]).values.size == 0


def test_a_folder(tmp_path: Path) -> None:
    with pytest.raises(LogError, match="this is a folder"):
        open_log(tmp_path)


def test_a_file_that_is_not_there(tmp_path: Path) -> None:
    with pytest.raises(LogError, match="there is no such file"):
        open_log(tmp_path / "gone.csv")


def test_a_file_that_vanishes_after_it_was_looked_at(tmp_path: Path) -> None:
    path = plain(tmp_path / "run.csv")
    form = recognise(path)
    source = open_source(path)
    path.unlink()
    assert form is not None
    with pytest.raises(LogError, match="there is no such file"):
        form.read(source)


def test_numbers_that_could_be_thousands_are_refused_not_guessed(tmp_path: Path) -> None:
    path = tmp_path / "run.csv"
    path.write_text("Time;Rev;Adv\n" + "".join(f"{i};1,{234 + i};5\n" for i in range(40)))
    with pytest.raises(LogError, match="nothing tells whether '1,234' is little more than 1"):
        open_log(path)


def test_a_torn_number_among_thousands_is_not_shown_as_one(tmp_path: Path) -> None:
    path = tmp_path / "run.csv"
    rows = [f"{i / 50:.2f};1 {200 + i};{0.5 * i}" for i in range(40)]
    rows[0] = rows[0].replace("1 200", "1(200")
    path.write_text("Time;Rev;Adv\n" + "\n".join(rows) + "\n")
    log = open_log(path)
    rev = log.find("Rev")
    assert rev is not None
    assert np.nanmax(log.values(rev)) == 1239
    assert np.isnan(log.values(rev)[0])
    assert "'1 201' is read as 1201" in " ".join(log.cell_notes)


def test_formats_are_listed_without_importing_any() -> None:
    code = (
        "import sys; from tuneledger.logs import FORMATS; "
        "print([form.name for form in FORMATS], 'polars' in sys.modules)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, check=True, text=True)
    assert done.stdout.startswith("['Parquet', ")
    assert done.stdout.endswith("'delimited text'] False\n")


def test_a_table_that_is_too_wide_is_refused_before_its_cells_are_looked_at(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    wide = 20_001
    rows = [",".join(f"{row}.{i}" for i in range(wide)) for row in range(3)]
    path = tmp_path / "wide.csv"
    path.write_text("\n".join([",".join(f"c{i}" for i in range(wide)), *rows]) + "\n")
    monkeypatch.setattr("tuneledger.logs.delimited.plan.find_layout", None)
    with pytest.raises(LogError, match="it has 20001 columns; expected at most 20000"):
        open_log(path)


@pytest.mark.parametrize(("cell", "says"), [("=A1*2", "a formula"), ("n/v?", "no number")])
def test_lines_that_part_the_header_from_the_samples_are_told(
    tmp_path: Path, cell: str, says: str
) -> None:
    rows = [f"{t / 10},{900 + t},{t % 5}" for t in range(60)]
    lines = ["Time (s),Rev,Adv", *rows[:4], *[",".join([cell] * 3)] * 40, *rows[4:]]
    path = tmp_path / "formulas.csv"
    path.write_text("\n".join(lines) + "\n")
    told = f"from line 6 on: the header row in line 1 is followed by 40 lines with {says} in every"
    with pytest.raises(LogError, match=told):
        open_log(path)
