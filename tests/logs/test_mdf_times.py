"""ASAM MDF whose times are not what they should be: told with the file's name, or left out."""

from pathlib import Path

import numpy as np
import polars as pl
import pytest
from asammdf import MDF, Signal

from tests.logs.packing import refusal
from tuneledger.arrays import FloatArray
from tuneledger.logs import open_log

EVEN = np.arange(60) / 20.0


def recorded(path: Path, *rasters: FloatArray) -> Path:
    """A file of one group per raster, its channel 0, 1, 2 ... from row to row."""
    with MDF(version="4.10") as mdf:
        for i, times in enumerate(rasters):
            rows = np.arange(times.size, dtype=np.float64)
            mdf.append([Signal(rows, times, name=f"Spark {i}", unit="deg")])
        return Path(mdf.save(path, overwrite=True))


@pytest.mark.parametrize(
    ("times", "told"),
    [
        (np.where(np.arange(60) < 40, EVEN, EVEN - 1.5), "run.mf4: row 41: time runs backwards"),
        (np.where(np.arange(60) == 3, np.nan, EVEN[::-1]), "run.mf4: row 2: time runs backwards"),
        (np.zeros(60), "run.mf4: time stands still"),
    ],
)
def test_a_fault_of_the_times_names_its_file(times: FloatArray, told: str, tmp_path: Path) -> None:
    assert str(refusal(recorded(tmp_path / "run.mf4", times))).startswith(told)


def test_rows_without_a_time_are_left_out_of_their_group_alone(tmp_path: Path) -> None:
    holes = EVEN.copy()
    holes[[0, 7]] = np.nan, np.inf
    log = open_log(recorded(tmp_path / "run.mf4", holes, EVEN))
    first, second = log.channels[:2]
    kept = np.flatnonzero(np.isfinite(holes))
    assert np.array_equal(log.values(first), kept)
    assert np.allclose(log.times(first), EVEN[kept], atol=1e-9)
    assert np.array_equal(log.values(second), np.arange(60))
    assert log.sample(first).size == kept.size
    assert log.some([first], np.array([6]))[first].tolist() == [8.0]
    assert "2 rows without a time are left out" in log.notes


def test_a_row_number_counts_the_rows_left_out(tmp_path: Path) -> None:
    times = np.r_[np.nan, EVEN[:30], EVEN[20:49]]
    told = str(refusal(recorded(tmp_path / "run.mf4", times)))
    assert "row 32: time runs backwards" in told


@pytest.mark.parametrize(
    ("rasters", "told"),
    [
        ([np.full(9, np.nan)], "no row of it has a time"),
        ([np.array([])], "there is no group with samples in it"),
        ([np.array([0.5])], "it holds 1 sample; expected a run of samples. Log for longer"),
        ([np.array([0.5]), np.array([2.0])], "it holds 1 sample; expected a run of samples"),
    ],
)
def test_what_holds_no_run_of_samples_is_refused(
    rasters: list[FloatArray], told: str, tmp_path: Path
) -> None:
    problem = refusal(recorded(tmp_path / "run.mf4", *rasters))
    assert problem is not None
    assert str(problem).startswith(f"run.mf4: {told}")
    assert problem.faults[0].do


def test_one_sample_beside_a_run_of_them_is_kept(tmp_path: Path) -> None:
    log = open_log(recorded(tmp_path / "run.mf4", EVEN, np.array([0.5])))
    assert [group.times.size for group in log.groups] == [60, 1]


def test_a_single_row_without_a_time_is_told_as_one(tmp_path: Path) -> None:
    pl.DataFrame({"Time [s]": [*EVEN[:-1], None], "Rev": EVEN}).write_parquet(tmp_path / "run.p")
    assert "1 row without a time is left out" in open_log(tmp_path / "run.p").notes
