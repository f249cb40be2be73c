"""`tuneledger sheet`: start, check and fill sheets; whole files or none."""

import io
import json
import sys
from collections.abc import Callable
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest
from scipy.interpolate import RegularGridInterpolator

from tuneledger.calibrations import open_calibration
from tuneledger.calibrations.starting_point import starting_point
from tuneledger.cli.sheet import command
from tuneledger.errors import TuneledgerError

# the map of the logs below; its surface is no plane, so that axes cannot change places unseen
PRESSURES, SPEEDS = (30.0, 90.0, 200.0), (800.0, 2500.0, 7000.0)
ADVANCE = ((14.0, 34.0, 38.0), (10.0, 24.0, 30.0), (2.0, 11.0, 20.0))
BLOCK = "\t900\t2500\t7000\n40\t17\t31\t37\n120\t12,5\t21\t30\n"


class Told(SimpleNamespace):
    """What a call printed, complained and ended with."""

    out: str
    err: str
    status: int


Run = Callable[..., Told]


@pytest.fixture
def sheet(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> Run:
    """Run `tuneledger sheet …` in this process; an error ends it as the program would."""

    def run(*arguments: str, pasted: str | bytes = "") -> Told:
        data = pasted if isinstance(pasted, bytes) else pasted.encode()
        monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(data)))
        try:
            status = command.main(list(arguments), prog_name="sheet", standalone_mode=False)
        except TuneledgerError as error:
            return Told(out=capsys.readouterr().out, err=str(error), status=error.exit_status)
        said = capsys.readouterr()
        return Told(out=said.out, err=said.err, status=status or 0)

    return run


def test_a_new_sheet_is_written_and_passes_its_own_check(sheet: Run) -> None:
    assert sheet("new").out == starting_point()
    told = sheet("new", "rev-a.toml")
    assert told.status == 0
    assert "tuneledger sheet table rev-a.toml spark.map" in told.out
    assert sheet("check", "rev-a.toml").out == "rev-a.toml: no fault; revision A, 0 corrections\n"


def test_a_new_sheet_never_takes_the_place_of_another(sheet: Run) -> None:
    Path("rev-a.toml").write_text("mine")
    told = sheet("new", "rev-a.toml")
    assert told.status == 2
    assert "what is in it would be lost; nothing was written. Choose another name" in told.err
    assert Path("rev-a.toml").read_text() == "mine"
    assert sheet("new", "rev-a.toml", "--force").status == 0
    assert open_calibration("rev-a.toml").revision == "A"


def test_a_check_names_every_fault_of_every_sheet(sheet: Run) -> None:
    good = starting_point()
    Path("good.toml").write_text(good)
    Path("bad.toml").write_text(good.replace('"kPa"', '"rpm"').replace("3500", "500"))
    told = sheet("check", "bad.toml", "good.toml", "none.toml")
    assert told.status == 2
    assert told.out.splitlines() == [
        'bad.toml: spark.map.axes[0].unit: "rpm" for manifold absolute pressure; '
        "expected a unit that turns into kPa",
        "bad.toml: spark.map.axes[1].at[1]: 500 does not rise above 900",
        "bad.toml: 2 faults",
        "good.toml: no fault; revision A, 0 corrections",
        "none.toml: there is no such file. Check the name.",
        "none.toml: 1 fault",
    ]


def test_a_check_tells_degrees_that_no_engine_is_given(sheet: Run) -> None:
    sheet("new", "rev-a.toml")
    path = Path("rev-a.toml")
    text = path.read_text(encoding="utf-8")
    path.write_text(text.replace('["?",', "[-800.0,", 1), encoding="utf-8")
    told = sheet("check", "rev-a.toml")
    assert told.status == 0
    assert "spark.map.values[0][0]: −800.0° can hardly be meant" in told.out


def test_the_schema_is_printed(sheet: Run) -> None:
    assert json.loads(sheet("schema").out)["properties"]["format"] == {
        "const": "tuneledger-calibration/1",
        "type": "string",
    }


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16"])
def test_a_pasted_block_fills_the_map(sheet: Run, encoding: str) -> None:
    sheet("new", "rev-a.toml")
    told = sheet("table", "rev-a.toml", "spark.map", pasted=BLOCK.encode(encoding))
    assert told.status == 0
    assert told.out == (
        "rev-a.toml: spark.map is now down manifold absolute pressure from 40 to 120 kPa "
        "(2 points), across engine speed from 900 to 7000 rpm (3 points)\n"
    )
    assert told.err.splitlines() == [
        "Read with cells parted by tabs and a decimal comma.",
        "The block does not name what its axes read; taken as the sheet has it.",
    ]
    table = open_calibration("rev-a.toml").spark.map
    assert table.grid.tolist() == [[17.0, 31.0, 37.0], [12.5, 21.0, 30.0]]
    after = Path("rev-a.toml").read_text()
    assert after.count("#") == starting_point().count("#")


def test_a_block_from_a_file_goes_into_another_sheet_and_leaves_this_one(sheet: Run) -> None:
    sheet("new", "rev-a.toml")
    Path("map.txt").write_text(BLOCK)
    told = sheet("table", "rev-a.toml", "spark.map", "--from", "map.txt", "--out", "rev-b.toml")
    assert told.status == 0
    assert Path("rev-a.toml").read_text() == starting_point()
    assert open_calibration("rev-b.toml").spark.map.grid.shape == (2, 3)
    printed = sheet("table", "rev-a.toml", "spark.map", "--from", "map.txt", "--out", "-")
    assert printed.out == Path("rev-b.toml").read_text()
    again = sheet("table", "rev-a.toml", "spark.map", "--from", "map.txt", "--out", "rev-b.toml")
    assert again.status == 2
    assert "the file exists, and what is in it would be lost; nothing was written" in again.err


def test_other_numbers_are_replaced_only_by_force(sheet: Run) -> None:
    sheet("new", "rev-a.toml")
    sheet("table", "rev-a.toml", "spark.map", pasted=BLOCK)
    before = Path("rev-a.toml").read_text()
    told = sheet("table", "rev-a.toml", "spark.map", pasted=BLOCK.replace("17", "18"))
    assert told.status == 2
    assert told.err == (
        "rev-a.toml: spark.map: other numbers stand there and would be lost; nothing was written. "
        "Say --force, or write it with --out."
    )
    assert Path("rev-a.toml").read_text() == before
    assert sheet("table", "rev-a.toml", "spark.map", pasted=BLOCK).status == 0
    forced = sheet("table", "rev-a.toml", "spark.map", "--force", pasted=BLOCK.replace("17", "18"))
    assert forced.status == 0
    assert open_calibration("rev-a.toml").spark.map.grid[0, 0] == 18.0


@pytest.mark.parametrize(
    ("pasted", "place", "says"),
    [
        ("", "spark.map", "the pasted block: no numbers; expected a table with its axes"),
        ("1\t2\t3\n4\t5", "spark.map", "the pasted block: line 2: 2 cells"),
        (BLOCK, "spark.nowhere", "spark.nowhere: no table can stand here"),
        (BLOCK, "spark.correction.rain", "spark.correction.rain: no such correction"),
    ],
)
def test_what_cannot_be_done_leaves_the_sheet_alone(
    sheet: Run, pasted: str, place: str, says: str
) -> None:
    sheet("new", "rev-a.toml")
    told = sheet("table", "rev-a.toml", place, pasted=pasted)
    assert told.status == 2
    assert says in told.err
    assert Path("rev-a.toml").read_text() == starting_point()


def test_a_source_that_is_not_there(sheet: Run) -> None:
    sheet("new", "rev-a.toml")
    told = sheet("table", "rev-a.toml", "spark.map", "--from", "none.txt")
    assert told.status == 2
    said = "none.txt: there is no such file. Check the name."
    assert told.err == said


# --- beside a log ------------------------------------------------------------------------------


def logged(*, scheduled: bool = True, off: float = 0.0) -> None:
    """A log whose scheduled advance follows the map, by SciPy's look-up; off above 120 kPa."""
    t = np.arange(600) / 20.0
    speed = np.round(3500 + 2500 * np.sin(t / 3.1))
    pressure = np.round(110 + 75 * np.sin(t / 1.7), 1)
    table = RegularGridInterpolator((PRESSURES, SPEEDS), np.array(ADVANCE))
    advance = table(np.column_stack([pressure, speed])) + np.where(pressure > 120, off, 0.0)
    columns = {
        "Time (s)": t,
        "Engine speed (rpm)": speed,
        "Manifold absolute pressure (kPa)": pressure,
        "Throttle position (%)": np.round(40 + 35 * np.sin(t / 2.3), 1),
        "Delivered advance (deg)": np.round(advance, 2),
    }
    if scheduled:
        columns["Scheduled advance (deg)"] = np.round(advance, 2)
    header = ",".join(columns)
    rows = np.column_stack(list(columns.values()))
    np.savetxt("drive.csv", rows, delimiter=",", header=header, comments="", fmt="%.2f")


def block(first: tuple[float, ...], second: tuple[float, ...], values: object) -> str:
    rows = zip(first, np.asarray(values).tolist(), strict=True)
    lines = [["", *second], *([point, *row] for point, row in rows)]
    return "\n".join("\t".join(map(str, line)) for line in lines)


UPRIGHT = block(PRESSURES, SPEEDS, ADVANCE)
TURNED = block(SPEEDS, PRESSURES, np.array(ADVANCE).T)


@pytest.mark.parametrize("pasted", [UPRIGHT, TURNED])
def test_a_log_says_that_the_map_reproduces_it(sheet: Run, pasted: str) -> None:
    logged()
    sheet("new", "rev-a.toml")
    told = sheet("table", "rev-a.toml", "spark.map", "--log", "drive.csv", pasted=pasted)
    assert told.status == 0
    assert "reproduces 100 % of 600 samples" in told.err.splitlines()[1]
    table = open_calibration("rev-a.toml").spark.map
    assert {axis.signal: axis.at for axis in table.axes} == {
        "manifold absolute pressure": PRESSURES,
        "engine speed": SPEEDS,
    }
    assert table.axes[0].signal == "manifold absolute pressure"
    assert table.grid.tolist() == [list(row) for row in ADVANCE]


def test_a_log_tells_which_signal_an_axis_reads_that_nothing_names(sheet: Run) -> None:
    """The sheet reads the throttle; the numbers would fit it, but the log does not."""
    logged()
    axis = '{ signal = "manifold absolute pressure", unit = "kPa", at = [40, 100, 180] }'
    assert axis in starting_point()
    throttle = '{ signal = "throttle position", unit = "%", at = [20, 60, 100] }'
    Path("rev-a.toml").write_text(starting_point().replace(axis, throttle))
    told = sheet("table", "rev-a.toml", "spark.map", "--log", "drive.csv", pasted=UPRIGHT)
    assert told.status == 0
    assert "across engine speed" in told.out
    axes = open_calibration("rev-a.toml").spark.map.axes
    assert [axis.signal for axis in axes] == ["manifold absolute pressure", "engine speed"]


def test_a_map_that_the_log_contradicts_is_written_and_told(sheet: Run) -> None:
    logged(off=-4.0)
    sheet("new", "rev-a.toml")
    told = sheet("table", "rev-a.toml", "spark.map", "--log", "drive.csv", pasted=UPRIGHT)
    assert told.status == 1
    assert open_calibration("rev-a.toml").spark.map.grid.tolist() == [list(r) for r in ADVANCE]


def test_a_log_without_scheduled_advance_cannot_judge(sheet: Run) -> None:
    logged(scheduled=False)
    sheet("new", "rev-a.toml")
    told = sheet("table", "rev-a.toml", "spark.map", "--log", "drive.csv", pasted=UPRIGHT)
    assert told.status == 3
    assert "The log carries no scheduled advance; it cannot judge the map." in told.err
    assert open_calibration("rev-a.toml").spark.map.grid.shape == (3, 3)


def test_a_log_is_no_judge_of_a_correction(sheet: Run) -> None:
    logged()
    text = starting_point() + '\n[[spark.correction]]\nid = "warm"\namount = 1\n'
    Path("rev-a.toml").write_text(text)
    pasted = "degC 20 80\nx 0 -4"
    call = ("table", "rev-a.toml", "spark.correction.warm", "--across", "oil temperature")
    told = sheet(*call, "--log", "drive.csv", pasted=pasted)
    assert told.status == 2
    assert "a log is compared with the main map only" in told.err
    assert Path("rev-a.toml").read_text() == text
    assert sheet(*call, "--force", pasted=pasted).status == 0
