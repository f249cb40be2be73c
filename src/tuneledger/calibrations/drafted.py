"""The mark of a sheet that was read out of logs: that it is not for loading, and which logs.

A drafted sheet fits the log that it was read out of by its making. The mark stands in its notes, so
that whoever holds the two against each other later is told.
"""

import re
from collections.abc import Sequence
from hashlib import sha256

import numpy as np

from tuneledger.arrays import FloatArray
from tuneledger.calibrations.model import Calibration
from tuneledger.record import record

NOT_FOR_LOADING = "NOT FOR LOADING"
_LINE = re.compile(r"^Read out of log: (?P<file>.*), fingerprint (?P<print>[0-9a-f]{16})$", re.M)
_STEP_DEG = 1e-4  # what a copy in another format may be off by is less


@record
class SourceLog:
    """A log that a sheet was read out of: its file's name, and the fingerprint of what it shows."""

    file: str
    fingerprint: str


def fingerprint(delivered: FloatArray) -> str:
    """Of a log, by its delivered advance in the log's own unit, a value per sample (NaN allowed).

    The same for a copy under another name, packed, or in another format.
    """
    steps = np.nan_to_num(np.round(delivered / _STEP_DEG), nan=2.0**62).astype(np.int64)
    return sha256(steps.tobytes()).hexdigest()[:16]


def source_lines(sources: Sequence[SourceLog]) -> list[str]:
    """The lines that a drafted sheet's notes have for the logs that it was read out of."""
    return [f"Read out of log: {one.file}, fingerprint {one.fingerprint}" for one in sources]


def sources_of(calibration: Calibration) -> tuple[SourceLog, ...]:
    """The logs that a sheet says it was read out of; none of a sheet that is no draft."""
    if not calibration.notes.startswith(NOT_FOR_LOADING):
        return ()
    return tuple(SourceLog(m["file"], m["print"]) for m in _LINE.finditer(calibration.notes))
