"""One small log, and the same log in every other format."""

import gzip
import zipfile
from collections.abc import Mapping
from pathlib import Path

import numpy as np
import polars as pl

from tuneledger.errors import LogError
from tuneledger.logs import open_log

HEADERS = ("Time [s]", "Revs [rpm]", "Spark out [deg]", "Water [degF]", "Rain")
ROWS = 80


def table() -> pl.DataFrame:
    """Eighty rows at 20 Hz: numbers, whole numbers, and a switch."""
    n = np.arange(ROWS)
    columns = (n / 20.0, 900 + 7 * n, 12.0 + 0.5 * np.sin(n / 9.0), 180.0 + n / 40.0, n > 40)
    return pl.DataFrame(dict(zip(HEADERS, columns, strict=True)))


def as_text(path: Path, frame: pl.DataFrame | None = None) -> Path:
    (table() if frame is None else frame).write_csv(path)
    return path


def gzipped(path: Path, content: bytes) -> Path:
    with gzip.open(path, "wb") as file:
        file.write(content)
    return path


def zipped(path: Path, members: Mapping[str, bytes]) -> Path:
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in members.items():
            archive.writestr(name, content)
    return path


def refusal(path: Path) -> LogError | None:
    """What is said of a file when it is read whole; any other exception goes through."""
    try:
        log = open_log(path)
        for channel in log.channels:
            log.values(channel)
    except LogError as problem:
        return problem
    return None
