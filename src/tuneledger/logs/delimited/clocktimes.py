"""Columns of clock times as seconds."""

import re
from datetime import date, datetime

import numpy as np
import polars as pl

from tuneledger.arrays import FloatArray
from tuneledger.logs.delimited.clock import CLOCK
from tuneledger.logs.delimited.moment import midnight
from tuneledger.record import record

_DAY_S = 86400.0
_NO_DATE = date(1970, 1, 1)


@record(eq=False)
class ClockTimes:
    """Seconds since the first day's midnight, in file order; NaN where a cell is no clock time.

    form: "hh:mm:ss", "mm:ss" or "date and time"
    dated: the cells carry the date, so that a new day is no riddle
    origin: the first day's midnight; None without a date, or where day and month may be either
    """

    seconds: FloatArray
    form: str
    dated: bool
    origin: datetime | None = None


def read_clock(cells: pl.Series) -> ClockTimes:
    """Read a column of clock times. Two fields are minutes and seconds."""
    parts = cells.str.extract_groups(CLOCK)
    names = parts.struct.fields
    day_text, hours, minutes, seconds, half = (parts.struct.field(name) for name in names)
    second = seconds.str.replace_all(",|:", ".").cast(pl.Float64, strict=False)
    minute = minutes.cast(pl.Float64, strict=False)
    hour = hours.cast(pl.Float64, strict=False).fill_null(0.0)
    half = half.str.to_lowercase().str.slice(0, 1)
    afternoon = (half == "p").fill_null(False).cast(pl.Float64)
    hour = pl.select(pl.when(half.is_not_null()).then(hour % 12).otherwise(hour)).to_series()
    total = _floats(hour + 12.0 * afternoon) * 3600.0 + _floats(minute) * 60.0 + _floats(second)
    dated = day_text.null_count() < 0.5 * len(day_text)
    origin = None
    if dated:
        days, first = _days(day_text)
        total = total + days * _DAY_S
        origin = midnight(first, cells.drop_nulls()[0])
    two_fields = hours.null_count() > 0.5 * len(hours)
    form = "date and time" if dated else "mm:ss" if two_fields else "hh:mm:ss"
    return ClockTimes(total, form, dated, origin)


def _floats(series: pl.Series) -> FloatArray:
    return np.array(series.to_numpy(), dtype=np.float64)


def _days(texts: pl.Series) -> tuple[FloatArray, date | None]:
    """Days since the earliest date; the order of day and month is the one that rises best.

    The date is None where both orders rise as well.
    """
    distinct = [text for text in texts.unique(maintain_order=True).to_list() if text is not None]
    readings = [
        [_date(text, month_first=month_first) for text in distinct] for month_first in (False, True)
    ]
    days = min(readings, key=_disorder)
    first = min((day for day in days if day is not None), default=_NO_DATE)
    either = readings[0] != readings[1] and len({_disorder(days) for days in readings}) == 1
    numbers = [float("nan") if day is None else float((day - first).days) for day in days]
    known = texts.replace_strict(distinct, numbers, default=None, return_dtype=pl.Float64)
    return _floats(known), None if either else first


def _disorder(days: list[date | None]) -> tuple[int, int]:
    known = [day for day in days if day is not None]
    span = (max(known) - min(known)).days if known else 0
    return len(days) - len(known), span


def _date(text: str, *, month_first: bool) -> date | None:
    a, b, c = (int(part) for part in re.split(r"[-./]", text))
    if a > 31:
        year, month, day = a, b, c
    elif month_first:
        year, month, day = c, a, b
    else:
        year, month, day = c, b, a
    try:
        return date(year + 2000 if year < 100 else year, month, day)
    except ValueError:
        return None
