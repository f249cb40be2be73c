"""ASAM MDF, versions 3 and 4: groups of channels, each group on its own raster.

Read by asammdf, an extra, in a process apart (`child`), whose tables are then read as needed.
"""

import json
from datetime import datetime
from importlib.util import find_spec
from pathlib import Path
from subprocess import TimeoutExpired
from typing import TYPE_CHECKING, Any

from tuneledger.apart import run_apart
from tuneledger.bounded import how_to_raise
from tuneledger.errors import Fault, LogError
from tuneledger.logs.limits import Limits, bytes_text
from tuneledger.logs.source import Source
from tuneledger.private import PrivateFolder, no_room
from tuneledger.wording import visible

if TYPE_CHECKING:
    from tuneledger.logs.model import Log

TOO_MANY = 3  # the child's exit status where a file has more channels than allowed
NO_ROOM = 4  # and where the disk does not take what is in it
DAMAGED = 5  # and where it is damaged in a way that looks like size
_WHOLE = b"MDF     "
_UNFINISHED = b"UnFinMF "
_NOTE = "the logger did not finish this file (no clean end); it is read as far as it goes"


def detect(source: Source) -> bool:
    """Whether a file is MDF, whole or damaged, by its first bytes; never raises."""
    return source.head.startswith((_WHOLE, _UNFINISHED))


def why_not(source: Source) -> Fault | None:
    """Nothing: what begins like MDF is read as MDF."""
    return None


def read(source: Source, limits: Limits) -> "Log":
    """Read a log. LogError where it is damaged, too much, or cannot be used, with what to do."""
    from tuneledger.logs.mdf.groups import read_groups

    if find_spec("asammdf") is None:
        raise LogError(
            Fault(
                "this is an ASAM MDF file, and what reads those is not installed",
                file=source.name,
                do="Install the extra 'mdf' (pip install asammdf).",
            )
        )
    folder = PrivateFolder()
    index = _carried_over(source, folder.path, limits)
    notes = [*index["notes"], *([_NOTE] if source.head.startswith(_UNFINISHED) else [])]
    origin = datetime.fromisoformat(index["began"]) if index["began"] else None
    return read_groups(source, folder, index["version"], index["groups"], notes, origin)


def _carried_over(source: Source, folder: Path, limits: Limits) -> dict[str, Any]:
    """What the child made of the file, by its index."""
    try:
        done = run_apart(
            "tuneledger.logs.mdf.child",
            *(str(source.path.resolve()), str(folder)),
            *(str(limits.memory), str(limits.columns), str(round(limits.seconds))),
            seconds=limits.seconds,
        )
    except TimeoutExpired as problem:
        found = f"it cannot be read in {limits.seconds:.0f} s"
        raise LogError(Fault(found, file=source.name, do=how_to_raise())) from problem
    index = folder / "index.json"
    if done.returncode == 0 and index.exists():
        found_index: dict[str, Any] = json.loads(index.read_text(encoding="utf-8"))
        return found_index
    raise LogError(_refusal(source, done.returncode, done.stderr, limits))


def _refusal(source: Source, status: int, said: bytes, limits: Limits) -> Fault:
    if status == TOO_MANY:
        return Fault(
            "it has more channels than that",
            file=source.name,
            expected=f"at most {limits.columns}",
            do=how_to_raise(),
        )
    lines = said.decode("utf-8", "replace").strip().splitlines()
    last = visible(lines[-1])[:120] if lines else ""
    if status == NO_ROOM:
        return no_room(source.name, last).faults[0]
    if "MemoryError" in last:
        found = f"it needs more than {bytes_text(limits.memory)} of memory"
        return Fault(found, file=source.name, do=how_to_raise())
    # What the library says on purpose may help; where it merely broke, its inner names do not.
    reason = f" ({last.partition(': ')[2]})" if "MdfException: " in last else ""
    return Fault(
        f"it is damaged, or cut short{reason}",
        file=source.name,
        do="Copy it from the logger again, or export it there as delimited text.",
    )
