"""Is this a mapping, and not a sheet? Told by whether it names parameters; never raises."""

import re
from typing import Any

from tuneledger.calibrations.asam.mapping.named import NAMED, is_named
from tuneledger.calibrations.text import decode, parse
from tuneledger.errors import SheetError

_NAMING = re.compile(rf"\{{[^{{}}]*\b{NAMED}\b[ \t\"']*=")


def is_mapping(data: bytes) -> bool:
    """Whether the whole of a file that looks like a sheet names parameters where numbers stand.

    Of one that is damaged, a name in braces is enough, so that what is said of it is said of a
    mapping.
    """
    if NAMED.encode() not in data:
        return False
    try:
        text = decode(data)
    except SheetError:
        return False
    try:
        return names_any(parse(text))
    except SheetError:
        return _NAMING.search(text) is not None


def names_any(raw: Any) -> bool:
    """Whether a parameter is named anywhere in a tree."""
    waiting = [raw]
    while waiting:
        part = waiting.pop()
        if is_named(part):
            return True
        if isinstance(part, dict):
            waiting += part.values()
        elif isinstance(part, list):
            waiting += part
    return False
