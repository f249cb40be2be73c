"""A few whole files of every format, to be damaged. Each maker gets a folder of its own."""

import gzip
import io
import zipfile
from collections.abc import Callable, Iterator
from pathlib import Path

import numpy as np
import polars as pl

from tests.calibrations.asam import kestrel
from tests.calibrations.asam.making import motorola
from tests.fuzz import calibrated
from tests.fuzz.requests import requests
from tests.logs.packing import table
from tests.logs.writing import Dress, steady_run, text
from tests.oldworkbooks import xls
from tests.shared import SHARED
from tests.workbooks import ods, xlsx
from tuneledger.calibrations import open_calibration
from tuneledger.calibrations.asam.cdf.write import as_cdf
from tuneledger.calibrations.asam.mapping.back import parameters_of
from tuneledger.calibrations.starting_point import starting_point
from tuneledger.logs.writing.mdf import write_mdf
from tuneledger.logs.writing.model import Column, Table

DEMO = Path(__file__).parents[2] / "demo"
FRAMES = SHARED / "data/mdf/can_obd_60FEB5A8.MF4"
DRESSES = (
    Dress(),
    Dress(delimiter=";", decimal=",", units="row", preamble=("Kestrel", "Run: 3"), blank_lines=1),
    Dress(delimiter="\t", encoding="utf-16", units="square", time_as="clock", missing="---"),
    Dress(encoding="latin-1", time_as="ms", trailing=True, quoted=True, ends="\r\n"),
    Dress(time_as="iso", units="round", padded=True, time_at=2),
)
ROLES = """\
format = "tuneledger-roles/1"
[roles]
"delivered advance" = "Adv given"
"engine speed" = "Rev"
[units]
"Rev" = "rpm"
"""
CHANGES = """\
format = "tuneledger-changes/1"
[[change]]
place = "spark.correction.charge-air.values[4]"
to = -5.0
[[change]]
place = "spark.map.values[5][5]"
to = 18.0
"""
READINGS = "rpm,commanded,observed\n" + "".join(
    f"{rpm},10.0,{10.0 + 1.5 - rpm * 6e-4:.1f}\n" for rpm in range(800, 6000, 400)
)
BLOCK = "kPa\t900\t2500\t7000\n40\t17,5\t31\t37\n120\t12,5\t21\t?\n"


def texts(_: Path) -> Iterator[bytes]:
    for dress in DRESSES:
        yield text(steady_run(), dress).encode(dress.encoding)
    yield b"".join((DEMO / "climb.csv").read_bytes().splitlines(keepends=True)[:90])


def parquet(_: Path) -> Iterator[bytes]:
    out = io.BytesIO()
    table().write_parquet(out)
    yield out.getvalue()


def arrow(_: Path) -> Iterator[bytes]:
    for write in (pl.DataFrame.write_ipc, pl.DataFrame.write_ipc_stream):
        out = io.BytesIO()
        write(table(), out)
        yield out.getvalue()


def mdf4(_: Path) -> Iterator[bytes]:
    fast, slow = np.arange(200) / 50.0, np.arange(20) / 5.0
    out = io.BytesIO()
    write_mdf(
        [
            Table("fast", fast, (Column.of("Spark out", "deg", 12 + np.sin(fast)),)),
            Table("slow", slow, (Column.of("Water", "°C", 80 + slow),)),
        ],
        out,
    )
    yield out.getvalue()


def unfinished(folder: Path) -> Iterator[bytes]:
    """As a logger leaves it that lost its power: marked so, and without its last part."""
    for whole in mdf4(folder):
        head = bytearray(whole)
        head[:8] = b"UnFinMF "
        head[60:62] = (1).to_bytes(2, "little")  # the number of samples is to be counted anew
        yield bytes(head)


def frames(_: Path) -> Iterator[bytes]:
    """Raw frames of a logger, of which those that answer SAE J1979 requests are read."""
    yield FRAMES.read_bytes()


def mdf3(folder: Path) -> Iterator[bytes]:
    from asammdf import MDF, Signal

    times = np.arange(100) / 50.0
    with MDF(version="3.30") as mdf:
        mdf.append([Signal(12 + np.sin(times), times, name="Spark out", unit="deg")])
        yield mdf.save(folder / "sample.mdf", overwrite=True).read_bytes()


def workbooks(folder: Path) -> Iterator[bytes]:
    rows = [list(table().columns), *(list(row) for row in table().rows())]
    for write, name in ((xlsx, "sample.xlsx"), (ods, "sample.ods"), (xls, "sample.xls")):
        yield write(folder / name, {"Notes": [["Kestrel"]], "Run": rows}).read_bytes()


def packed(_: Path) -> Iterator[bytes]:
    log = text(steady_run(), Dress()).encode()
    yield gzip.compress(log)
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("mail/run.csv", log)
        archive.writestr("rev-d.toml", (DEMO / "rev-d.toml").read_bytes())
    yield out.getvalue()


def sheets(_: Path) -> Iterator[bytes]:
    yield (DEMO / "rev-d.toml").read_bytes()
    yield starting_point().encode()


def blocks(folder: Path) -> Iterator[bytes]:
    yield BLOCK.encode()
    rows = [["kPa", 900, 2500, 7000], [40, 17.5, 31, 37], [120, 12.5, 21, 30]]
    for write, name in ((xlsx, "block.xlsx"), (ods, "block.ods"), (xls, "block.xls")):
        yield write(folder / name, {"Notes": [["Kestrel"]], "Map": rows}).read_bytes()


def calibration_data(_: Path) -> Iterator[bytes]:
    sheet = open_calibration(DEMO / "rev-d.toml")
    yield as_cdf(parameters_of(sheet).parameters.values(), "Kestrel").encode()
    yield calibrated.calibration_data().encode()


def each(*samples: str) -> Callable[[Path], Iterator[bytes]]:
    return lambda _: (sample.encode() for sample in samples)


SAMPLES: dict[str, Callable[[Path], Iterator[bytes]]] = {
    "delimited text": texts,
    "Parquet": parquet,
    "Arrow IPC": arrow,
    "workbook": workbooks,
    "gzip and zip": packed,
    "MDF 4": mdf4,
    "MDF 3": mdf3,
    "MDF unfinished": unfinished,
    **({"MDF of frames": frames} if FRAMES.exists() else {}),
    "sheet": sheets,
    "mapping": each(kestrel.MAPPING, calibrated.files()["mapping.toml"]),
    "description": each(calibrated.files()["kestrel.a2l"]),
    "Intel HEX": each(calibrated.files()["kestrel-d.hex"]),
    "S-record": each(motorola(calibrated.memory())),
    "calibration data": calibration_data,
    "pasted block": blocks,
    "roles": each(ROLES),
    "changes": each(CHANGES),
    "light readings": each(READINGS),
    "desk request": requests,
}
