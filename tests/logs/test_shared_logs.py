"""Logs that others made: the shared cases by their truth, the open OBD logs with their defects."""

import csv
import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from tests.shared import SHARED, needs_cases, needs_data
from tuneledger.logs import open_log
from tuneledger.units import parse_unit

CASES = sorted(SHARED.glob("cases/*/log.csv")) + sorted(SHARED.glob("cases/*/heldout.csv"))
OBD = sorted(SHARED.glob("data/logs/*.csv"))
DELIMITERS = {",": "comma", ";": "semicolon", "\t": "tab"}


def dress(path: Path) -> dict[str, Any]:
    truth = json.loads(path.with_name("truth.json").read_text(encoding="utf-8"))
    own = truth.get("heldout_format", {}) if path.name == "heldout.csv" else {}
    return {**truth["log_format"], **own}


def true_times(path: Path) -> list[float]:
    name = "truth.csv" if path.name == "log.csv" else "heldout_truth.csv"
    with path.with_name(name).open(encoding="utf-8") as file:
        return [float(row["time_s"]) for row in csv.DictReader(file)]


@needs_cases
@pytest.mark.parametrize("path", CASES, ids=lambda p: f"{p.parent.name}-{p.stem}")
def test_a_case_is_read_as_its_truth_says(path: Path) -> None:
    written, log = dress(path), open_log(path)

    assert [channel.name for channel in log.channels] == written["columns"]
    assert log.layout["delimiter"] == DELIMITERS[written["delimiter"]]
    assert log.layout["decimal mark"] == ("comma" if written["decimal"] == "," else "point")
    for channel in log.channels:
        if channel.unit:
            expected = written["units"][channel.name]
            assert parse_unit(channel.unit) == parse_unit(expected) or channel.unit == expected
    labelled = sum(bool(channel.unit) for channel in log.channels)
    if written["unit_row"] or labelled:
        assert labelled >= 0.95 * sum(bool(unit) for unit in written["units"].values())
    times = np.array(true_times(path))
    np.testing.assert_allclose(log.groups[0].times, times - times[0], atol=1e-6)


@needs_cases
@pytest.mark.parametrize("path", CASES, ids=lambda p: f"{p.parent.name}-{p.stem}")
def test_every_cell_of_a_case_is_read_as_python_reads_it(path: Path) -> None:
    written, log = dress(path), open_log(path)
    with path.open(encoding=written["encoding"], newline="") as file:
        rows = list(csv.reader(file, delimiter=written["delimiter"]))
    rows = rows[written["preamble_lines"] + 1 + written["unit_row"] :]
    words = {"on": 1.0, "off": 0.0, "yes": 1.0, "no": 0.0, "true": 1.0, "false": 0.0}

    for channel in log.channels[1:]:
        cells = [row[channel.column].strip() for row in rows]
        expected = [words.get(c, None if c else np.nan) for c in cells]
        if None in expected:
            expected = [float(c.replace(",", ".")) if c else np.nan for c in cells]
        np.testing.assert_array_equal(log.values(channel), np.array(expected, dtype=float))
    assert not log.cell_notes


@needs_data
@pytest.mark.parametrize("path", OBD, ids=lambda p: p.stem)
def test_the_open_obd_logs_are_read_with_their_defects(path: Path) -> None:
    # Open carOBD data set, IEEE document 8891367: trailing commas, `()` for units, a run time in
    # whole ticks of two seconds that stands still while four rows are written.
    rows = path.read_text().splitlines()
    log = open_log(path)

    assert log.samples == len(rows) - 1
    assert len(log.channels) == 27
    assert log.time.name == "ENGINE_RUN_TINE"
    assert all(channel.unit == "" and "(" not in channel.name for channel in log.channels)
    assert (np.diff(log.groups[0].times) > 0).all()
    run_time = log.values(log.time)
    assert np.abs(log.groups[0].times - (run_time - run_time[0])).max() <= 2.0
    assert any("repeat the time of the row before" in note for note in log.notes)
    timing = log.find("TIMING_ADVANCE")
    assert timing is not None
    expected = [float(row.split(",")[timing.column]) for row in rows[1:]]
    np.testing.assert_array_equal(log.values(timing), expected)
