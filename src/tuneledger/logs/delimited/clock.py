"""Times of day and dates in cells: `12:05:07.250`, `5:07.2`, `2026-05-03T12:05:07,25Z`."""

import re

_DATE = r"(?:(\d{1,4}[-./]\d{1,2}[-./]\d{1,4})[T ,]+)?"
_TIME = r"(?:(\d{1,3}):)?(\d{1,3}):(\d{1,2}(?:[.,:]\d+)?)"
_END = r"\s*([AaPp]\.?[Mm]\.?)?\s*(?:Z|UTC|GMT|[+-]\d{2}:?\d{2})?"
# Groups: date, hours, minutes, seconds, half of the day.
CLOCK = rf"^\s*{_DATE}{_TIME}{_END}\s*$"
_PATTERN = re.compile(CLOCK)


def is_clock(text: str) -> bool:
    """Whether a cell is a time of day, with or without a date."""
    return ":" in text and _PATTERN.match(text) is not None
