"""Calibrations drawn at random become sheets that say the same at every point, or are refused."""

import random
from functools import partial
from pathlib import Path

import numpy as np
import pytest
from scipy.interpolate import RegularGridInterpolator

from tests.calibrations.asam.making import intel, motorola
from tests.calibrations.asam.test_damaged import tried
from tests.calibrations.asam.varied import Varied, mapping, varied
from tests.fuzz.damage import damaged
from tuneledger.calibrations.asam.cdf.write import as_cdf
from tuneledger.calibrations.asam.files import open_store, sort_files
from tuneledger.calibrations.asam.mapping.back import parameters_of
from tuneledger.calibrations.asam.mapping.choose import Chosen, choose
from tuneledger.calibrations.check import check
from tuneledger.calibrations.model import Calibration, Table
from tuneledger.calibrations.text import parse
from tuneledger.errors import Fault, UsageError

SEEDS = range(40)


def written(folder: Path, made: Varied) -> list[Path]:
    """Description, image and mapping as files, under names that say nothing."""
    image = (intel, motorola)[made.seed % 2](made.bytes)
    texts = (made.description, image, mapping(made))
    paths = [folder / f"{number}.txt" for number in range(3)]
    for path, text in zip(paths, texts, strict=True):
        path.write_text(text)
    return paths


def made_of(paths: list[Path]) -> Chosen:
    given = sort_files(paths)
    if not given.sheets:
        raise UsageError(Fault("no mapping is among the files"))
    raw = parse(given.sheets[0].read_text(encoding="utf-8", errors="replace"))
    return choose(raw, open_store(given), "mapping")


def tables(sheet: Calibration) -> dict[str, Table]:
    return {"TABLE_2": sheet.spark.map} | {one.id: one for one in sheet.spark.correction}


def looked_up(table: Table, point: dict[str, float]) -> float:
    """By a general interpolator, end values held."""
    points = [axis.points for axis in table.axes]
    at = [np.clip(point[str(axis.signal)], axis.points[0], axis.points[-1]) for axis in table.axes]
    return float(RegularGridInterpolator(points, table.grid)(at)[0])


@pytest.mark.parametrize("seed", SEEDS)
def test_a_sheet_says_at_every_point_what_the_control_unit_does(seed: int, tmp_path: Path) -> None:
    made = varied(seed)
    sheet = made_of(written(tmp_path, made)).calibration
    chance = random.Random(seed)
    for name, table in tables(sheet).items():
        reads = made.axes[name]
        for _ in range(25):
            point = [chance.uniform(low - 20, high + 20) for _, _, low, high in reads]
            by_signal = {signal: x for (signal, *_), x in zip(reads, point, strict=True)}
            assert looked_up(table, by_signal) == pytest.approx(made.at[name](point), abs=1e-6)


@pytest.mark.parametrize("seed", SEEDS[:8])
def test_what_was_made_goes_out_as_cdf_and_comes_back(seed: int, tmp_path: Path) -> None:
    made = varied(seed)
    sheet = made_of(written(tmp_path, made)).calibration
    raw = parse(mapping(made))
    out = tmp_path / "out"
    out.write_text(as_cdf(parameters_of(sheet, raw).parameters.values(), "car"), encoding="utf-8")
    again = choose(raw, open_store(sort_files([out])), "mapping")
    assert again.calibration == sheet
    assert check(parse(again.text("out"))) == sheet


@pytest.mark.parametrize("which", [0, 1, 2])
def test_damaged_ones_are_read_or_refused_in_words(which: int, tmp_path: Path) -> None:
    refused = 0
    for seed in SEEDS:
        paths = written(tmp_path, varied(seed))
        whole = paths[which].read_bytes()
        chance = random.Random(f"damage {which} {seed}")
        for _ in range(3):
            paths[which].write_bytes(damaged(whole, chance))
            refused += not tried(partial(made_of, paths))
    assert refused > 20
