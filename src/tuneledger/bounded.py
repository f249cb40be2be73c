"""What is taken in as a whole, and so never without a bound."""

import errno
from pathlib import Path
from typing import Any, BinaryIO

MEGABYTE = 1 << 20
SHEET_BYTES = 4 * MEGABYTE  # some six hundred thousand cells


def read_whole(path: Path, most: int = SHEET_BYTES) -> bytes:
    """A file's bytes. OSError, with words for it, where it cannot be read or holds more."""
    with path.open("rb") as file:
        return read_stream(file, most)


def read_stream(file: BinaryIO, most: int = SHEET_BYTES) -> bytes:
    """The same of what is open already, such as what is piped in."""
    data = file.read(most + 1)
    if len(data) > most:
        raise OSError(errno.EFBIG, f"it holds more than {most // MEGABYTE} MB")
    return data


def json_of(text: str | bytes) -> Any:
    """What JSON holds; None where it is none, or is nested without measure."""
    import json  # few calls need it

    try:
        return json.loads(text)
    except (ValueError, RecursionError):
        return None
