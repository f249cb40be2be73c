"""Runs apart: reads an MDF file with asammdf and writes its groups as Arrow tables.

The library is given files from strangers, some of which make it hang or break; here that costs a
process with bounds on its memory, and the parent bounds the time. What the library lays down for
itself goes into the folder, too, and with it: where it breaks it leaves that behind.

Called as `python -m tuneledger.logs.mdf.child FILE FOLDER MEMORY COLUMNS SECONDS`. Writes
FOLDER/index.json last: {"version", "notes", "began", "groups": [{"files", "channels": [{"name",
"unit", "invalid"}]}]}; "began" is the moment from which the times count (ISO 8601), or null, and
"invalid" how many samples of a channel are marked so. The files of a group hold its columns, the
first of which is the time in seconds, a few each, so that no more of a long group than those is
ever in memory. Exit status 3: more channels than COLUMNS; 4: no room in FOLDER; 5: damage
that looks like size.
"""

import json
import logging
import os
import sys
import tempfile
import warnings
from pathlib import Path
from typing import Any

import numpy as np
import polars as pl

from tuneledger.bounded import bound_process
from tuneledger.logs.mdf import DAMAGED, NO_ROOM, TOO_MANY
from tuneledger.logs.mdf.began import began_of
from tuneledger.logs.mdf.damage import claims_too_much, goes_round
from tuneledger.logs.mdf.j1979 import Replies, replies
from tuneledger.logs.mdf.tables import Files, NoRoomError, carry
from tuneledger.wording import count, few, visible

_FRAMES = ("CAN_", "LIN_", "FLX_", "MOST_", "ETH_")
_DATA_FRAME = "CAN_DataFrame"


def main(arguments: list[str]) -> int:
    """Read an MDF file in this process apart and leave its columns in the folder; the exit status.

    arguments: file, folder, bytes of memory, columns, seconds
    """
    file, folder, memory, columns, seconds = arguments
    if goes_round(Path(file)):
        return DAMAGED
    # In case the parent is no longer there to watch; the library works in several threads.
    bound_process(int(memory), int(seconds) * ((os.cpu_count() or 1) + 1))
    tempfile.tempdir = folder
    warnings.simplefilter("ignore")
    logging.disable(logging.CRITICAL)
    # Where it is there, the library has it compile formulas out of the file; see `converted`.
    sys.modules["sympy"] = None  # type: ignore[assignment]
    from asammdf import MDF

    with MDF(file) as mdf:
        if sum(len(group.channels) for group in mdf.groups) > int(columns):
            return TOO_MANY
        try:
            index = _write(mdf, Path(folder))
        except NoRoomError as problem:
            sys.stderr.write(f"{problem}\n")
            return NO_ROOM
        except MemoryError:
            if claims_too_much(mdf, Path(file).stat().st_size):
                return DAMAGED
            raise
    (Path(folder) / "index.json").write_text(json.dumps(index), encoding="utf-8")
    return 0


def _write(mdf: Any, folder: Path) -> dict[str, Any]:
    files = Files(folder)
    groups: list[dict[str, Any]] = []
    lost, refused = 0, []
    for number in range(len(mdf.groups)):
        names = [channel.name for channel in mdf.groups[number].channels]
        if any(name.startswith(_FRAMES) for name in names):
            groups += [_put(reply, files) for reply in _decoded(mdf, number, names)]
            continue
        found = carry(mdf, number, files)
        lost += found.lost
        refused += found.refused
        if found.files:
            groups.append({"files": found.files, "channels": found.channels})
    notes = [f"{count(lost, 'channel')} of arrays or bytes left out"] if lost else []
    if refused:
        shown = [f"'{visible(name)}'" for name in refused]
        what = "left out whose formula is not carried out"
        notes.append(f"{count(len(refused), 'channel')} {what}: {few(shown)}")
    began = began_of(mdf)
    told = None if began is None else began.isoformat()
    return {"version": mdf.version, "notes": notes, "groups": groups, "began": told}


def _put(reply: Replies, files: Files) -> dict[str, Any]:
    name = files.put([pl.Series("time", reply.times), pl.Series("1", reply.values)])
    channel = {"name": reply.parameter.name, "unit": reply.parameter.unit, "invalid": 0}
    return {"files": [name], "channels": [channel]}


def _decoded(mdf: Any, number: int, names: list[str]) -> list[Replies]:
    """The values of SAE J1979 replies in a group of raw frames, each on its own times."""
    wanted = [f"{_DATA_FRAME}.{part}" for part in ("ID", "DataBytes")]
    if not all(name in names for name in wanted):
        return []
    ids, data = (mdf.get(group=number, index=names.index(name), raw=True) for name in wanted)
    if not len(ids.samples):
        return []
    found = replies(
        np.asarray(ids.timestamps, dtype=np.float64),
        np.asarray(ids.samples).astype(np.int64) & 0x1FFFFFFF,
        np.asarray(data.samples).astype(np.int64),
    )
    return list(found)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
