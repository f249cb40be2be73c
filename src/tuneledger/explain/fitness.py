"""Whether a sheet can be of this car at all: what it reads against what the log carries."""

from collections.abc import Sequence

import numpy as np

from tuneledger.calibrations.model import readings
from tuneledger.errors import Fault
from tuneledger.evaluate.model import Inputs
from tuneledger.explain.sheets import LaidSheet
from tuneledger.logs.model import Log
from tuneledger.signals import SIGNALS
from tuneledger.wording import listing

# One absent channel may simply not have been logged; several, and none found, is another car.
_FEWEST_CHANNELS = 2
# A map of the same car, whatever the revision, stays this close to what was asked for or used.
_FARTHEST_DEG = 6.0
_LOOK = "If it is the right sheet, see with `tuneledger look` whether the log is read rightly."


def of_another_car(log: Log, inputs: Inputs, laid: Sequence[LaidSheet]) -> list[Fault]:
    """A fault per sheet that reads only channels which the log lacks and whose map is far off."""
    return [
        Fault(
            f"none of the channels that it reads is in {log.file}: {listing(names)}, and its map "
            f"is not {_what(inputs)}",
            file=sheet.file,
            expected="a calibration of the car that made the log",
            do=f"Give the sheet of this car, or correct the channel names in it. {_LOOK}",
        )
        for sheet in laid
        if len(names := _channels(sheet)) >= _FEWEST_CHANNELS
        and all(log.find(name) is None for name in names)
        and not _near(inputs, sheet)
    ]


def _what(inputs: Inputs) -> str:
    """What the map was held against: it may be that which is wrong."""
    if inputs.signal("scheduled advance", "deg") is not None:
        return "what this engine was asked for"
    return "near what this engine used, which is all that the log shows"


def _channels(sheet: LaidSheet) -> list[str]:
    """The log channels that a sheet names, each once."""
    named: dict[str, None] = {}
    for reading in readings(sheet.calibration.spark):
        for name in (reading.channel, reading.minus, reading.over):
            if name is not None and name not in SIGNALS:
                named[name] = None
    return list(named)


def _near(inputs: Inputs, sheet: LaidSheet) -> bool:
    """Whether the map lies near the scheduled advance, or the delivered one, for most rows.

    A map that cannot be computed, since no channel is known to be a signal that it reads, says
    nothing of the sheet.
    """
    for signal in ("scheduled advance", "delivered advance"):
        asked = inputs.signal(signal, "deg")
        if asked is None:
            continue
        apart = np.abs(asked - sheet.map_values)
        known = apart[np.isfinite(apart)]
        if not known.size:
            return any(name in SIGNALS for name in sheet.map_missing)
        return bool(np.median(known) <= _FARTHEST_DEG)
    return True
