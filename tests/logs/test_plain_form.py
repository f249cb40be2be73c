"""Digits of other scripts, and columns set apart by blanks, read as the same numbers."""

from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.logs.writing import Dress, steady_run, text, write
from tests.patience import at_most
from tuneledger.logs import open_log
from tuneledger.logs.delimited.plain import Dress as Dressing
from tuneledger.logs.delimited.plain import dress_of, plain

ZEROS = {"arabic": "٠", "persian": "۰", "devanagari": "०", "thai": "๐", "full width": "０"}


def in_digits(log: str, zero: str) -> str:
    header, *rows = log.splitlines(keepends=True)
    digits = str.maketrans({str(n): chr(ord(zero) + n) for n in range(10)})
    return header + "".join(row.translate(digits) for row in rows)


def same(path: Path, other: Path) -> bool:
    one, two = open_log(path), open_log(other)
    assert [c.name for c in one.channels] == [c.name for c in two.channels]
    return all(
        np.array_equal(one.values(a), two.values(b), equal_nan=True)
        for a, b in zip(one.channels, two.channels, strict=True)
    )


@pytest.mark.parametrize("zero", ZEROS.values(), ids=ZEROS)
def test_digits_of_any_script_are_the_same_numbers(zero: str, tmp_path: Path) -> None:
    run = steady_run()
    plainly = write(tmp_path / "plain.csv", run, Dress())
    dressed = tmp_path / "dressed.csv"
    dressed.write_text(in_digits(text(run, Dress()), zero), encoding="utf-8")
    assert same(dressed, plainly)


@pytest.mark.parametrize("width", [0, 14])
def test_columns_apart_by_blanks_are_the_same_numbers(width: int, tmp_path: Path) -> None:
    run = steady_run()
    plainly = write(tmp_path / "plain.csv", run, Dress())
    rows = [line.split(",") for line in text(run, Dress()).splitlines()]
    if not width:
        rows[0] = [name.replace(" ", "_") for name in rows[0]]
    dressed = tmp_path / "dressed.txt"
    dressed.write_text("\n".join(" ".join(c.rjust(width) for c in row) for row in rows) + "\n")
    log = open_log(dressed)
    assert log.layout["delimiter"] == "blanks"
    names = [channel.name for channel in open_log(plainly).channels]
    assert [c.name for c in log.channels] == [n if width else n.replace(" ", "_") for n in names]
    for mine, own in zip(log.channels, open_log(plainly).channels, strict=True):
        assert np.array_equal(log.values(mine), open_log(plainly).values(own), equal_nan=True)


def test_one_empty_line_between_header_units_and_samples_is_passed_over(tmp_path: Path) -> None:
    run = steady_run()
    plainly = write(tmp_path / "plain.csv", run, Dress(units="row"))
    dressed = tmp_path / "dressed.csv"
    dressed.write_text(plainly.read_text().replace("\n", "\n\n"))
    assert same(dressed, plainly)


def test_a_gap_of_blanks_takes_no_longer_than_it_is(tmp_path: Path) -> None:
    gap = tmp_path / "gap.txt"
    lines = [f"{n / 10:8} {900 + n:8} {12.5:8}  \n" for n in range(400)]
    lines[200] = lines[200].replace(" 12.5", " " * 400_000 + " 12.5")
    gap.write_text("".join(["    Time      Rev    Spark\n", *lines]), encoding="utf-8")
    with at_most(10.0):
        log = open_log(gap)
        assert (log.values(log.channels[2]) == 12.5).all()
    assert plain("  1  2 \n \n3 4  ", [Dressing.BLANKS]) == "1\t2\n\n3\t4"


@given(st.text(max_size=200))
def test_any_lines_come_out_as_lines(anything: str) -> None:
    lines = anything.split("\n")
    dress = dress_of(lines)
    assert len(plain(anything, dress).split("\n")) == len(lines)
