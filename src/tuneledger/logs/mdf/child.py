"""Runs apart: reads an MDF file with asammdf and writes it as Arrow tables, one per group.

The library is given files from strangers, some of which make it hang or break; here that costs a
process with bounds on its memory, and the parent bounds the time.

Called as `python -m tuneledger.logs.mdf.child FILE FOLDER MEMORY COLUMNS`. Writes FOLDER/index.json
last: {"version", "notes", "groups": [{"file", "channels": [{"name", "unit"}]}]}; the first column
of a table is the time in seconds. Exit status 3: more channels than COLUMNS.
"""

import json
import logging
import sys
import warnings
from pathlib import Path
from typing import Any

import numpy as np
import polars as pl

from tuneledger.logs.mdf import TOO_MANY
from tuneledger.logs.mdf.j1979 import replies
from tuneledger.wording import count

_AT_ONCE = 32
_FRAMES = ("CAN_", "LIN_", "FLX_", "MOST_", "ETH_")
_DATA_FRAME = "CAN_DataFrame"


def main(arguments: list[str]) -> int:
    file, folder, memory, columns = arguments
    _bound(int(memory))
    warnings.simplefilter("ignore")
    logging.disable(logging.CRITICAL)
    from asammdf import MDF

    with MDF(file) as mdf:
        if sum(len(group.channels) for group in mdf.groups) > int(columns):
            return TOO_MANY
        index = _write(mdf, Path(folder))
    (Path(folder) / "index.json").write_text(json.dumps(index), encoding="utf-8")
    return 0


def _bound(memory: int) -> None:
    try:
        import resource
    except ImportError:  # no such bounds on this system; the time is still bounded
        return
    resource.setrlimit(resource.RLIMIT_AS, (memory, memory))


def _write(mdf: Any, folder: Path) -> dict[str, Any]:
    groups: list[dict[str, Any]] = []
    left = 0
    for number in range(len(mdf.groups)):
        names = [channel.name for channel in mdf.groups[number].channels]
        if any(name.startswith(_FRAMES) for name in names):
            for table, channels in _decoded(mdf, number, names):
                _put(groups, folder, table, channels)
            continue
        table, channels, lost = _group(mdf, number)
        left += lost
        if channels and table.height:
            _put(groups, folder, table, channels)
    notes = [f"{count(left, 'channel')} of arrays or bytes left out"] if left else []
    return {"version": mdf.version, "notes": notes, "groups": groups}


def _put(
    groups: list[dict[str, Any]], folder: Path, table: pl.DataFrame, channels: list[dict[str, str]]
) -> None:
    name = f"group-{len(groups)}.arrow"
    table.write_ipc(folder / name, compression="uncompressed")
    groups.append({"file": name, "channels": channels})


def _group(mdf: Any, number: int) -> tuple[pl.DataFrame, list[dict[str, str]], int]:
    """One group's channels on its own times; (table, channels, how many were left out)."""
    master = mdf.masters_db.get(number)
    own = [i for i in range(len(mdf.groups[number].channels)) if i != master]
    columns: list[pl.Series] = []
    channels: list[dict[str, str]] = []
    lost = 0
    for start in range(0, len(own), _AT_ONCE):
        wanted = [(None, number, i) for i in own[start : start + _AT_ONCE]]
        for signal in mdf.select(wanted, ignore_value2text_conversions=False):
            if not columns:
                columns.append(pl.Series("0", np.asarray(signal.timestamps, dtype=np.float64)))
            series = _series(signal, str(len(columns)))
            if series is None or len(series) != len(columns[0]):
                lost += 1
                continue
            columns.append(series)
            unit = "" if series.dtype == pl.String else str(signal.unit or "")
            channels.append({"name": str(signal.name), "unit": unit})
    return pl.DataFrame(columns), channels, lost


def _series(signal: Any, name: str) -> pl.Series | None:
    """Samples as a column; those marked invalid are missing. None where they are no scalars."""
    samples = np.asarray(signal.samples)
    if samples.ndim != 1 or samples.dtype.names:
        return None
    if samples.dtype.kind in "fiub":
        series = pl.Series(name, samples.astype(samples.dtype.newbyteorder("=")))
    elif samples.dtype.kind in "SUO":
        series = pl.Series(name, [_text(cell) for cell in samples.tolist()], dtype=pl.String)
    else:
        return None
    invalid = signal.invalidation_bits
    if invalid is None:
        return series
    bad = np.asarray(getattr(invalid, "samples", invalid), dtype=np.bool_)
    return series.set(pl.Series(bad), None) if bad.size == len(series) and bad.any() else series


def _text(cell: Any) -> str:
    if isinstance(cell, bytes):
        return cell.decode("utf-8", "replace").rstrip("\x00")
    return str(cell)


def _decoded(
    mdf: Any, number: int, names: list[str]
) -> list[tuple[pl.DataFrame, list[dict[str, str]]]]:
    """The values of SAE J1979 replies in a group of raw frames, each on its own times."""
    wanted = [f"{_DATA_FRAME}.{part}" for part in ("ID", "DataBytes")]
    if not all(name in names for name in wanted):
        return []
    ids, data = (mdf.get(group=number, index=names.index(name)) for name in wanted)
    if not len(ids.samples):
        return []
    tables = []
    found = replies(
        np.asarray(ids.timestamps, dtype=np.float64),
        np.asarray(ids.samples).astype(np.int64) & 0x1FFFFFFF,
        np.asarray(data.samples).astype(np.int64),
    )
    for reply in found:
        table = pl.DataFrame({"0": reply.times, "1": reply.values})
        tables.append((table, [{"name": reply.parameter.name, "unit": reply.parameter.unit}]))
    return tables


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
