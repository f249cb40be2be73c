"""When a measurement began, out of the header of an MDF file. Part of what runs apart."""

from datetime import datetime
from typing import Any

# Where nobody set it, writers leave the beginning of a calendar: 1970 or 1980. MDF came after both.
_FIRST_YEAR = 1990


def began_of(mdf: Any) -> datetime | None:
    """The moment from which all times of a file count; None where its header holds none.

    Without a zone where the header has a local time only, as version 3 does.
    """
    try:
        if str(mdf.version) < "4":
            text = f"{mdf.header.date.decode('ascii')} {mdf.header.time.decode('ascii')}"
            found = datetime.strptime(text.replace("\0", ""), "%d:%m:%Y %H:%M:%S")
        else:
            found = mdf.header.start_time
    except (ValueError, OverflowError, OSError, AttributeError):
        return None
    return found if found.year >= _FIRST_YEAR else None
