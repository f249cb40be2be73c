"""Some rows of a log: the same numbers as in the whole of it, however its columns are written."""

from collections.abc import Callable
from pathlib import Path

import numpy as np
import polars as pl
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tuneledger.logs import open_log
from tuneledger.logs.model import Log

SAMPLES = 60
COLUMNS = {
    "Time (s)": [f"{i * 0.02:.3f}" for i in range(SAMPLES)],
    "Rev (rpm)": [f"{900 + 37 * i % 5000}" for i in range(SAMPLES)],
    "Wet": ["on" if i % 9 > 4 else "off" for i in range(SAMPLES)],
    "Air (degC)": ["" if i % 7 == 3 else f"{20 + 0.5 * i:.1f}" for i in range(SAMPLES)],
    "Oil (bar)": ["-" if i == 40 else f"{3 + 0.01 * i:.2f}" for i in range(SAMPLES)],
}


def as_text(path: Path) -> Path:
    rows = zip(*COLUMNS.values(), strict=True)
    path.write_text("\n".join([",".join(COLUMNS), *map(",".join, rows)]) + "\n", encoding="utf-8")
    return path


def as_types(path: Path) -> Path:
    frame = pl.DataFrame(COLUMNS)
    numbers = pl.exclude("Wet").cast(pl.Float64, strict=False)
    frame.with_columns(numbers).write_parquet(path)
    return path


@pytest.fixture(scope="module", params=[as_text, as_types], ids=["text", "types"])
def log(
    request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory
) -> Callable[..., Log]:
    path = request.param(tmp_path_factory.mktemp("logs") / "run.bin")
    return lambda: open_log(path)


@given(rows=st.lists(st.integers(0, SAMPLES - 1), min_size=1, unique=True).map(sorted))
@settings(max_examples=25, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_some_rows_are_those_of_the_whole(log: Callable[..., Log], rows: list[int]) -> None:
    here, apart = np.array(rows, dtype=np.int64), log()
    some = apart.some(apart.channels, here)
    whole = log()
    for channel in apart.channels:
        values = whole.values(whole.channels[channel.column])[here]
        assert np.array_equal(some[channel], values, equal_nan=True), channel.name


def test_what_was_read_as_a_whole_is_not_read_again(log: Callable[..., Log]) -> None:
    known = log()
    rows = np.array([3, 5, 50], dtype=np.int64)
    rev = known.channels[1]
    values = known.values(rev)
    assert np.array_equal(known.some([rev], rows)[rev], values[rows])
