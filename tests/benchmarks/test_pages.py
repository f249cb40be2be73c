"""What the benchmarks write: tables that count right, curves that are well-formed SVG."""

import sys
from pathlib import Path
from xml.etree import ElementTree

import pytest

from benchmarks.accuracy import measure
from benchmarks.accuracy_page import Part, page, summary
from benchmarks.curve import BLUE, Chart, Line, charts
from benchmarks.marks import Result
from benchmarks.processes import compare
from benchmarks.report import kind_table, miss_list, reliability
from benchmarks.tools import NoStatementError
from benchmarks.truth import Case
from tests.benchmarks.made import wet_case
from tests.benchmarks.perfect import perfect


def gives_up(case: Case) -> Result:
    raise NoStatementError("exit 2: log.csv: no time column")


def test_tables_count_what_was_asked_and_what_was_right(tmp_path: Path) -> None:
    case = wet_case(tmp_path)
    scores = [measure(perfect, case), measure(gives_up, case)]
    row = kind_table(scores).splitlines()[-1].replace(" ", "")
    assert row.startswith("|all|2|1/2|1/2|1/1|1/1|")
    assert "no time column" in miss_list(scores)
    assert "first cause right in 50.0% (1 of 2)" in summary(scores)


def test_reliability_sets_the_share_right_beside_the_certainty_given(tmp_path: Path) -> None:
    scored = measure(perfect, wet_case(tmp_path))
    told = reliability([scored]).splitlines()
    assert told[2].split("|")[2:5] == [" 1      ", " 0.97           ", " 1.00        "]
    assert "- of 1 causes given with 0.9 or more, 1 are right" in told
    # One cause at 0.97 that is right: (1 − 0.97)² = 0.0009, and 0.03 away from the share right.
    assert told[-1] == "- Brier score 0.001, expected calibration error 0.030, over 1 causes"


def test_the_page_says_how_when_and_on_what_it_was_made(tmp_path: Path) -> None:
    text = page([Part("Made cases", [measure(gives_up, wet_case(tmp_path))], 70_001)])
    for said in ("make bench", "Measured on", "seeds from 70001", "no time column"):
        assert said in text


def test_a_curve_is_an_svg_with_every_point() -> None:
    chart = Chart("Time <b>", "samples", "s", [10.0, 20.0, 40.0], [Line("a", [1, 2, 4], BLUE)])
    tree = ElementTree.fromstring(charts([chart, chart]))
    assert len(tree.findall(".//{*}circle")) == 6


def test_a_process_that_fails_is_no_measurement() -> None:
    with pytest.raises(RuntimeError, match="ended with 3"):
        compare({"bad": [sys.executable, "-c", "raise SystemExit(3)"]}, 1)


def test_processes_are_measured_in_time_and_memory() -> None:
    costs = compare({"nothing": [sys.executable, "-S", "-c", "pass"]}, 1)
    assert costs["nothing"].seconds > 0
    assert costs["nothing"].megabytes > 1
