"""A log too big for memory: its cells lie on disk, and everything is as if they did not.

What is big is made small here, so that every log goes that way.
"""

import random
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from tests.fuzz.damage import damaged
from tests.fuzz.samples import DEMO, DRESSES
from tests.logs.writing import steady_run, text
from tuneledger.errors import LogError
from tuneledger.logs import open_log
from tuneledger.logs.delimited import grid
from tuneledger.logs.model import Log

SAMPLES = [text(steady_run(), dress).encode(dress.encoding) for dress in DRESSES]
CLIMB = b"".join((DEMO / "climb.csv").read_bytes().splitlines(keepends=True)[:90])


def lines(count: int = 300) -> list[str]:
    return [
        "Time (s),Rev (rpm),Adv (deg)",
        *(f"{i / 50:.2f},{900 + i},{i % 7 / 2}" for i in range(count)),
    ]


def with_line(number: int, line: str) -> bytes:
    out = lines()
    out[number] = line
    return ("\n".join(out) + "\n").encode()


ODD = {
    "a torn row": with_line(120, "2.38,90"),
    "a row too long": with_line(120, "2.38,1019,0.5,7,7"),
    "a blank line": with_line(120, ""),
    "the header again": with_line(120, lines()[0]),
    "a stray quote": with_line(120, '2.38,"1019,0.5'),
    "a return alone": ("\r".join(lines()) + "\r").encode(),
    "mixed ends": with_line(120, "2.38,1019,0.5\r"),
    "other bytes later": with_line(120, "2.38,1019,0.5").replace(b"2.40", b"2.40\xff"),
    "words": with_line(120, "2.38,n/a,off"),
    "cut off": with_line(120, "2.38,1019,0.5")[:-2],
}


@pytest.fixture
def on_disk(monkeypatch: pytest.MonkeyPatch) -> Callable[[], None]:
    def now() -> None:
        monkeypatch.setattr(grid, "IN_MEMORY", 0)
        monkeypatch.setattr(grid, "_CELLS_TOGETHER", 50)
        monkeypatch.delattr(grid, "InMemory")  # nothing goes the other way

    return now


def outcome(path: Path) -> Log | str:
    try:
        log = open_log(path)
        for channel in log.channels:
            log.values(channel)
    except LogError as problem:
        return str(problem)
    return log


def assert_alike(one: Log | str, other: Log | str) -> None:
    if isinstance(one, str) or isinstance(other, str):
        assert one == other
        return
    assert (one.channels, one.layout, one.notes) == (other.channels, other.layout, other.notes)
    assert one.cell_notes == other.cell_notes
    assert np.array_equal(one.groups[0].times, other.groups[0].times)
    rows = np.arange(0, one.samples, 7)
    for channel in one.channels:
        assert np.array_equal(one.values(channel), other.values(channel), equal_nan=True)
        assert np.array_equal(one.sample(channel), other.sample(channel), equal_nan=True)
        assert one.columns.words(channel.column) == other.columns.words(channel.column)
    some, same = one.columns.some(range(3), rows), other.columns.some(range(3), rows)
    assert list(some) == list(same)
    assert all(np.array_equal(some[i], same[i], equal_nan=True) for i in some)


@pytest.mark.parametrize("data", [*SAMPLES, CLIMB, *ODD.values()], ids=lambda _: "")
def test_a_log_on_disk_is_the_log_in_memory(
    data: bytes, on_disk: Callable[[], None], tmp_path: Path
) -> None:
    path = tmp_path / "run.csv"
    path.write_bytes(data)
    held = outcome(path)
    on_disk()
    assert_alike(held, outcome(path))


def test_damage_is_told_alike(on_disk: Callable[[], None], tmp_path: Path) -> None:
    paths = [tmp_path / f"run-{i}.csv" for i in range(80)]
    for i, path in enumerate(paths):
        whole = [*SAMPLES, CLIMB][i % (len(SAMPLES) + 1)]
        path.write_bytes(damaged(whole, random.Random(i)) or b"x")
    held = [outcome(path) for path in paths]
    on_disk()
    for path, found in zip(paths, held, strict=True):
        assert_alike(found, outcome(path))
