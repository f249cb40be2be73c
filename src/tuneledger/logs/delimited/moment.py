"""When a log began, where its times say so: the moment that they count from."""

import re
from datetime import UTC, date, datetime, time, timedelta, timezone

_ZONE = re.compile(r"(?:(Z|UTC|GMT)|([+-])(\d{2}):?(\d{2}))\s*$")
_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
_SPREADSHEET = datetime(1899, 12, 30)  # a spreadsheet knows no zone
# Seconds since 1970 that a clock shows and no counter: the years 1990 to 2100.
_CLOCK_S = (631152000.0, 4102444800.0)


def midnight(day: date | None, cell: str) -> datetime | None:
    """The beginning of a day, in the zone that a cell of its column names, else in none."""
    if day is None:
        return None
    found = _ZONE.search(cell)
    if found is None:
        return datetime.combine(day, time())
    ahead = timedelta(hours=int(found[3] or 0), minutes=int(found[4] or 0))
    zone = timezone(-ahead if found[2] == "-" else ahead)
    return datetime.combine(day, time(), zone)


def counted_from(first_s: float, unit: str) -> datetime | None:
    """What a count of seconds begins from, by its first: 1970, or 1899 for a spreadsheet's days."""
    if unit == "day":
        return _SPREADSHEET
    return _EPOCH if _CLOCK_S[0] < first_s < _CLOCK_S[1] else None


def began(origin: datetime | None, first_s: float) -> datetime | None:
    """The moment of the first sample, to the microsecond."""
    if origin is None:
        return None
    try:
        return origin + timedelta(microseconds=round(first_s * 1e6))
    except (OverflowError, ValueError):
        return None
