"""A map that ends before the engine does

**What it finds.** A map whose last engine speed lies below the redline that `[engine]` names, or,
with a log, whose axes end before the log's own inputs do for a second or more.

**Why it matters.** Beyond its ends a map holds the last value. Advance that should fall with load,
or rise with speed, stays what it was, at the very place where it is least known.

**Example.** `redline_rpm = 7400` and the last point at 6500 rpm; or a log that shows 230 kPa over
a map that ends at 200 kPa.

**What to do.** Add a row or column, with less advance rather than more until it is tried.

**When to ignore it.** Where the value is known to be flat from there on.
"""

from collections.abc import Iterator

import numpy as np

from tuneledger.audit.model import Said
from tuneledger.audit.phrases import on_axis, reading_name, unit_of
from tuneledger.audit.sheet import Audited
from tuneledger.calibrations.model import Axis
from tuneledger.units import convert
from tuneledger.wording import quantity, seconds

LEAST_S = 1.0


def check(sheet: Audited) -> Iterator[Said]:
    """Axes of the main map against the redline and the log."""
    redline = sheet.calibration.engine.redline_rpm
    for number, axis in enumerate(sheet.calibration.spark.map.axes):
        if axis.since is not None or axis.minus or axis.over or axis.rate:
            continue
        path = f"spark.map.axes[{number}]"
        if redline and axis.signal == "engine speed":
            last = float(convert(axis.points[-1:], unit_of(axis), "rpm")[0])
            if last < redline - 1e-6:
                yield Said(
                    "doubt",
                    (path, "engine"),
                    f"The map ends at {quantity(last, 'rpm')}, the redline is "
                    f"{quantity(redline, 'rpm')}: in between its last value holds.",
                    "Add a column up to the redline, with less advance rather than more.",
                )
        yield from _beyond_in_log(sheet, axis, path)


def _beyond_in_log(sheet: Audited, axis: Axis, path: str) -> Iterator[Said]:
    if sheet.log is None:
        return
    from tuneledger.roles.inputs import LogInputs

    log, roles = sheet.log
    role = roles.get(axis.signal) if axis.signal else None
    if role is None:
        return
    times = log.times(role.channel)
    seen = LogInputs(log, roles, times).signal(axis.signal or "", unit_of(axis) or None)
    if seen is None or times.size < 2:
        return
    step = float(np.median(np.diff(times)))
    past = float(np.sum(np.nan_to_num(seen, nan=-np.inf) > axis.at[-1]) * step)
    if past >= LEAST_S:
        shown = on_axis(float(np.nanmax(seen)), axis)
        yield Said(
            "doubt",
            (path,),
            f"The map ends at {on_axis(axis.at[-1], axis)}, but {log.file} shows "
            f"{reading_name(axis)} up to {shown}, beyond it for {seconds(past)}.",
            "Add a point there, with less advance rather than more until it is tried.",
        )
