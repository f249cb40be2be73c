"""ASAM MDF: groups on their own rasters, raw frames decoded, damage that costs nothing but itself.

Outside references: the library mdfreader as a second reader of what is written here; the decoded
values of the independent library `obd`, in the shared open data; its check values for SAE J1979.
"""

import csv
import re
import subprocess
import sys
from pathlib import Path

import mdfreader
import numpy as np
import pytest
from asammdf import MDF, Signal

from tests.logs.packing import refusal
from tests.shared import SHARED, needs_data
from tuneledger.errors import LogError
from tuneledger.logs import open_log
from tuneledger.logs.limits import Limits
from tuneledger.logs.mdf import tables
from tuneledger.logs.mdf.groups import read_groups
from tuneledger.logs.mdf.j1979 import PARAMETERS, replies
from tuneledger.logs.mdf.tables import Files
from tuneledger.logs.source import open_source
from tuneledger.logs.writing.mdf import write_mdf
from tuneledger.logs.writing.model import Column, Table, tables_of
from tuneledger.private import PrivateFolder

FAST = np.arange(200) / 50.0
SLOW = np.arange(20) / 5.0


def two_rasters(path: Path) -> Path:
    tables = [
        Table("fast", FAST, (Column.of("Spark out", "deg", 12 + np.sin(FAST)),)),
        Table(
            "slow", SLOW, (Column.of("Water", "°C", 80 + SLOW), Column.of("Spark out", "", SLOW))
        ),
    ]
    with path.open("wb") as file:
        write_mdf(tables, file)
    return path


def test_every_group_keeps_its_own_times(tmp_path: Path) -> None:
    log = open_log(two_rasters(tmp_path / "run.mf4"))
    found = {c.name: (c.unit, log.times(c), log.values(c)) for c in log.channels}
    assert list(found) == ["Spark out", "Water", "Spark out #2", "time"]
    assert np.allclose(found["Spark out"][1], FAST, atol=1e-9)
    assert np.allclose(found["Water"][1], SLOW, atol=1e-9)
    assert found["Water"][0] == "°C"
    assert np.array_equal(found["Spark out"][2], 12 + np.sin(FAST))
    assert log.samples == FAST.size


def test_a_second_reader_sees_the_same_values(tmp_path: Path) -> None:
    path = two_rasters(tmp_path / "run.mf4")
    other = mdfreader.Mdf(str(path))
    values = {name: other.get_channel_data(name) for name in other}
    assert any(np.array_equal(v, 12 + np.sin(FAST)) for v in values.values() if len(v) == FAST.size)
    assert np.array_equal(values["Water"], 80 + SLOW)
    assert other.get_channel_unit("Water") == "°C"


@pytest.mark.parametrize("version", ["3.30", "4.11"])
def test_versions_words_and_invalid_samples(version: str, tmp_path: Path) -> None:
    invalid = FAST > 3.0
    signals = [
        Signal(np.arange(200, dtype=np.int16), FAST, name="Count", unit="rpm"),
        Signal(np.where(FAST > 2.0, b"on", b"off"), FAST, name="Rain", encoding="utf-8"),
    ]
    if version.startswith("4"):
        bits = {"invalidation_bits": invalid}
        signals.append(Signal(np.sin(FAST), FAST, name="Oil", unit="kPa", **bits))
    with MDF(version=version) as mdf:
        mdf.append(signals)
        mdf.save(tmp_path / "run.mdf", overwrite=True)
    name = next(tmp_path.glob("run.*"))
    log = open_log(name)
    values = {c.name: log.values(c) for c in log.channels}
    assert np.array_equal(values["Count"], np.arange(200))
    assert np.array_equal(values["Rain"], (FAST > 2.0) * 1.0)
    if version.startswith("4"):
        assert np.isnan(values["Oil"][invalid]).all()
        assert np.isfinite(values["Oil"][~invalid]).all()
        told = f"Oil: {invalid.sum()} samples marked invalid in the file, and left out"
        assert log.cell_notes == (told,)


def formulas(path: Path, version: str, *texts: str) -> Path:
    """A file of one group, its channels A, B, … converted by these formulas from 0, 1, 2 …"""
    stored = np.arange(FAST.size, dtype=np.uint16)
    signals = [
        Signal(stored, FAST, name=chr(65 + i), unit="deg", conversion={"formula": text})
        for i, text in enumerate(texts)
    ]
    with MDF(version=version) as mdf:
        mdf.append([Signal(np.sin(FAST), FAST, name="Spark out", unit="deg"), *signals])
        return Path(mdf.save(path, overwrite=True))


@pytest.mark.parametrize("version", ["3.30", "4.11"])
def test_formulas_are_carried_out(version: str, tmp_path: Path) -> None:
    log = open_log(formulas(tmp_path / "run.mdf", version, "X/4", "(X+1)*0.5-40", "ln(X+1)"))
    stored = np.arange(FAST.size)
    a, b, c = (log.values(channel) for channel in log.channels[1:4])
    assert np.array_equal(a, stored / 4)
    assert np.array_equal(b, (stored + 1) * 0.5 - 40)
    assert np.array_equal(c, np.log(stored + 1.0))


@pytest.mark.parametrize("version", ["3.30", "4.11"])
def test_no_formula_of_a_stranger_is_ever_run(version: str, tmp_path: Path) -> None:
    """Nor is the stored number taken for what it would give."""
    harm = tmp_path / "harm"
    evil = f"__import__('pathlib').Path('{harm}').touch() or X"
    log = open_log(formulas(tmp_path / "run.mdf", version, evil, "X^2", "X-1"))
    assert [channel.name for channel in log.channels] == ["Spark out", "C", "time"]
    assert "2 channels left out whose formula is not carried out: 'A' and 'B'" in log.notes
    assert not harm.exists()


def test_a_long_group_is_carried_over_in_parts(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    columns = tuple(Column.of(f"C{i}", "V", FAST + i) for i in range(7))
    path = tmp_path / "run.mf4"
    with path.open("wb") as file:
        write_mdf([Table("fast", FAST, columns), Table("slow", SLOW, columns[:0])], file)
    monkeypatch.setattr(tables, "_CELLS_AT_ONCE", 3 * FAST.size)
    parts = Files(tmp_path)
    with MDF(path) as mdf:
        found = tables.carry(mdf, 0, parts)
    assert len(found.files) > 1
    described = {"files": found.files, "channels": found.channels}
    folder = PrivateFolder()
    for name in found.files:
        (tmp_path / name).rename(folder.path / name)
    log = read_groups(open_source(path), folder, "4.10", [described], [])
    for i, channel in enumerate(log.channels[:7]):
        assert (channel.name, channel.unit) == (f"C{i}", "V")
        assert np.array_equal(log.values(channel), FAST + i)
    assert np.allclose(log.groups[0].times, FAST)


def test_damage_of_any_kind_is_a_sentence(tmp_path: Path) -> None:
    whole = two_rasters(tmp_path / "run.mf4").read_bytes()
    chance = np.random.default_rng(1971)
    path = tmp_path / "damaged.mf4"
    for case in range(3):
        data = bytearray(whole)
        if case % 2:
            data = data[: int(chance.integers(70, len(data)))]
        else:
            for place in chance.integers(64, min(len(data), 900), 8):
                data[place] ^= 0xFF
        path.write_bytes(bytes(data))
        problem = refusal(path)
        assert problem is None or problem.faults[0].file == "damaged.mf4"
        assert "Traceback" not in str(problem)
        assert "Error:" not in str(problem)


def test_a_file_that_takes_too_long_or_too_much_is_given_up(tmp_path: Path) -> None:
    path = two_rasters(tmp_path / "run.mf4")
    with pytest.raises(LogError, match=r"cannot be read in 0 s.*--large"):
        open_log(path, limits=Limits(seconds=0.05))
    with pytest.raises(LogError, match="more channels than that; expected at most 2"):
        open_log(path, limits=Limits(columns=2))


@needs_data
def test_raw_frames_are_decoded_as_an_independent_library_decodes_them() -> None:
    """Reference: python-obd 0.7.3 on the same frames."""
    log = open_log(SHARED / "data/mdf/can_obd_60FEB5A8.MF4")
    with (SHARED / "data/ref/can_obd_60FEB5A8_obd_reference.csv").open() as file:
        rows = list(csv.DictReader(file))
    checked = 0
    for channel in log.channels:
        number = next((k for k, p in PARAMETERS.items() if p.name == channel.name), None)
        own = [r for r in rows if number is not None and int(r["pid"], 16) == number]
        own = [r for r in own if re.fullmatch(r"-?[\d.]+(e-?\d+)?", r["python_obd_value"])]
        if not own:
            continue
        assert np.allclose(log.values(channel), [float(r["python_obd_value"]) for r in own])
        times = np.array([float(r["t_s"]) for r in own])
        assert np.allclose(np.diff(log.times(channel)), np.diff(times), atol=1e-4)
        checked += len(own)
    assert checked > 300


@needs_data
def test_a_file_that_its_logger_never_closed_is_read_as_far_as_it_goes() -> None:
    log = open_log(SHARED / "data/mdf/can_obd_7512BE4D.MF4")
    assert log.samples > 100
    assert any("did not finish this file" in note for note in log.notes)


@needs_data
def test_conversions_of_the_standards_demo_are_applied() -> None:
    """The file of an open-source MDF library's own tests: seven groups, seven conversions."""
    log = open_log(SHARED / "data/mdf/asam_demo_v171.mf4")
    assert len(log.groups) == 7
    with MDF(SHARED / "data/mdf/asam_demo_v171.mf4") as mdf:
        for name in ("ASAM.M.SCALAR.UBYTE.FORM_X_PLUS_4", "ASAM.M.SCALAR.UBYTE.RAT_FUNC.DIV_10"):
            channel = log.find(name)
            assert channel is not None
            assert np.array_equal(log.values(channel), mdf.get(name).samples.astype(np.float64))


@needs_data
def test_scalings_are_those_of_sae_j1979() -> None:
    """Reference: python-obd 0.7.3, 34 check values; its 0x44 is rounded, hence 6e-4 there."""
    checked = 0
    for line in (SHARED / "data/ref/pid_check_values.txt").read_text().splitlines():
        found = re.match(r"\S+\s+01 ([0-9A-F]{2}) ((?:[0-9A-F]{2} )+)\s*-> (-?[\d.]+)", line)
        parameter = PARAMETERS.get(int(found[1], 16)) if found else None
        if found is None or parameter is None:
            continue
        data = [int(byte, 16) for byte in found[2].split()]
        own = parameter.values(np.array([data]))[0]
        rounded = 6e-4 if found[1] == "44" else 1e-12
        assert own == pytest.approx(float(found[3]), rel=rounded), line
        checked += 1
    assert checked >= 20


def test_frames_that_are_no_replies_are_passed_over() -> None:
    ids = np.array([0x7DF, 0x7E8, 0x7E8, 0x123, 0x18DAF110])
    data = np.array(
        [
            [2, 0x01, 0x0E, 0, 0, 0, 0, 0],  # the request
            [3, 0x41, 0x0E, 148, 0, 0, 0, 0],  # 10° before top dead centre
            [3, 0x7F, 0x01, 0x12, 0, 0, 0, 0],  # refused
            [3, 0x41, 0x0E, 1, 0, 0, 0, 0],  # something else on the bus
            [4, 0x41, 0x0C, 0x1A, 0xF8, 0, 0, 0],  # 29 bits
        ]
    )
    found = list(replies(np.arange(5.0), ids, data))
    assert [(r.parameter.unit, r.times.tolist(), r.values.tolist()) for r in found] == [
        ("deg", [1.0], [10.0]),
        ("rpm", [4.0], [1726.0]),
    ]


def test_a_text_log_goes_to_mdf_and_back_unchanged(tmp_path: Path) -> None:
    demo = open_log(Path(__file__).parents[2] / "demo" / "climb.csv")
    path = tmp_path / "climb.mf4"
    with path.open("wb") as file:
        write_mdf(tables_of(demo), file)
    back = open_log(path)
    for channel in demo.channels:
        if channel != demo.time:
            other = back.find(channel.name)
            assert other is not None
            assert other.unit == channel.unit
            assert np.array_equal(back.values(other), demo.values(channel), equal_nan=True)


IN_THE_FOLDER = """
import sys, tempfile
from tuneledger.logs.mdf.child import main
main([*sys.argv[1:], str(6 << 30), "20000", "120"])
print(tempfile.gettempdir())
"""


def test_what_the_library_lays_down_goes_with_the_folder(tmp_path: Path) -> None:
    path, folder = two_rasters(tmp_path / "run.mf4"), tmp_path / "folder"
    folder.mkdir()
    arguments = [sys.executable, "-c", IN_THE_FOLDER, str(path), str(folder)]
    done = subprocess.run(arguments, capture_output=True, text=True, check=True)
    assert done.stdout.strip() == str(folder)
