"""Places and regions of a sheet in words."""

from collections.abc import Sequence
from typing import Any

import numpy as np

from tuneledger.arrays import BoolArray
from tuneledger.audit.grid import indexes
from tuneledger.calibrations.model import Calibration, Comparison, Condition, Correction, Reading
from tuneledger.calibrations.paths import as_raw
from tuneledger.phrases import acting
from tuneledger.phrases import condition as condition_words
from tuneledger.signals import SIGNALS
from tuneledger.wording import count, listing, number, quantity


def unit_of(reading: Reading) -> str:
    """The unit of a reading's numbers, "" where it has none or nobody said."""
    if reading.unit is not None:
        return reading.unit
    if reading.since is not None:
        return "s"
    return SIGNALS[reading.signal].unit if reading.signal in SIGNALS else ""


def reading_name(reading: Reading) -> str:
    """What a reading reads: `idle speed target minus engine speed`."""
    if reading.since is not None:
        return f"time since {in_words(reading.since)}"
    name = reading.signal or reading.channel or "a reading"
    if reading.minus:
        name += f" minus {reading.minus}"
    if reading.over:
        name += f" over {reading.over}"
    return f"change of {name}" if reading.rate else name


def in_words(condition: Condition) -> str:
    """A condition as a phrase: `throttle position above 55 %`."""
    unit = unit_of(condition) if isinstance(condition, Comparison) else None
    return condition_words(as_raw(condition), unit)


def when_acting(when: Sequence[Condition]) -> str:
    """Conditions behind a verb: `while throttle position is above 55 % and Wet switch is on`."""
    return acting(_with_unit(as_raw(one), one) for one in when)


def _with_unit(raw: dict[str, Any], condition: Condition) -> dict[str, Any]:
    unit = unit_of(condition) if isinstance(condition, Comparison) else ""
    return raw | {"unit": unit} if unit else raw


def called(correction: Correction) -> str:
    """A correction by its title and its id: `Hot charge air (charge-air)`."""
    return f"{correction.title} ({correction.id})" if correction.title else correction.id


def cell(calibration: Calibration, index: Sequence[int]) -> str:
    """A cell of the map by its axis points: `200 kPa, 5000 rpm`."""
    axes = calibration.spark.map.axes
    return ", ".join(quantity(a.at[i], unit_of(a)) for a, i in zip(axes, index, strict=True))


def cell_path(index: Sequence[int]) -> str:
    """The place of a cell of the main map, as `paths` addresses it; an empty index is a map that is
    one amount."""
    if not index:
        return "spark.map.amount"
    return "spark.map.values" + "".join(f"[{int(i)}]" for i in index)


def region(calibration: Calibration, cells: BoolArray) -> str:
    """Where some cells of the map lie: `in every cell`, `at 3000 to 7400 rpm`, `in 3 cells: …`."""
    axes = calibration.spark.map.axes
    if cells.all():
        return "in every cell" if axes else "everywhere"
    found = np.argwhere(cells)
    if len(found) <= 2:
        return "at " + listing([cell(calibration, index) for index in indexes(cells)], "and at")
    lows, highs = found.min(axis=0), found.max(axis=0)
    spans = [
        _span(axis, int(low), int(high))
        for axis, low, high in zip(axes, lows, highs, strict=True)
        if high - low + 1 < len(axis.at)
    ]
    boxed = int(np.prod(highs - lows + 1)) == len(found)
    where = "at " + listing(spans) if spans else "all over the map"
    return where if boxed else f"in {count(len(found), 'cell')} {where}"


def _span(axis: Reading, low: int, high: int) -> str:
    at = axis.at  # type: ignore[attr-defined]
    if low == high:
        return quantity(at[low], unit_of(axis))
    if low == 0:
        return f"up to {quantity(at[high], unit_of(axis))}"
    if high == len(at) - 1:
        return f"{quantity(at[low], unit_of(axis))} and more"
    return f"{number(at[low])} to {quantity(at[high], unit_of(axis))}"


def cells_listed(calibration: Calibration, cells: BoolArray, most: int = 3) -> str:
    """The first few of some cells, and how many more there are."""
    found = [cell(calibration, index) for index in indexes(cells)]
    if len(found) > most + 1:
        return f"{'; '.join(found[:most])}; and {len(found) - most} more"
    return "; ".join(found)


def on_axis(value: float, reading: Reading) -> str:
    """A point of a reading's axis with its unit, as it is written for people."""
    return quantity(value, unit_of(reading))
