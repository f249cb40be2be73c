"""Which file is what, by its content; never raises and imports no reader."""

import re
from typing import Literal

Kind = Literal["description", "image", "instances"]

_IHEX = re.compile(rb":[0-9A-Fa-f]{10,}\s")
_SREC = re.compile(rb"S[0-9][0-9A-Fa-f]{6,}\s")
_A2L = re.compile(rb"(?:^|[\s*/])(?:ASAP2_VERSION\s|/begin\s+[A-Z]\w+)", re.MULTILINE)
_CDF = re.compile(rb"<(?:MSRSW|SW-SYSTEMS|SW-INSTANCE)[\s>]")
_UTF16 = (b"\xff\xfe", b"\xfe\xff")

SAYS: dict[Kind, str] = {
    "description": "an ASAM MCD-2 MC description (A2L)",
    "image": "an image of memory (Intel HEX or Motorola S-record)",
    "instances": "ASAM CDF calibration data",
}

FIRST = (
    "Make a sheet of it first: `tuneledger sheet contents` shows what is in it, "
    "`tuneledger sheet from` makes the sheet."
)


def told(head: bytes) -> Kind | None:
    """What the beginning of a file says that it is; None where it is none of these."""
    if head.startswith(_UTF16):
        head = head.decode("utf-16", "replace").encode("utf-8", "replace")
    start = head.removeprefix(b"\xef\xbb\xbf").lstrip()
    if _IHEX.match(start + b"\n") or _SREC.match(start + b"\n"):
        return "image"
    if start.startswith(b"<"):
        return "instances" if _CDF.search(start) else None
    if b"/begin" not in start and b"ASAP2_VERSION" not in start:
        return None  # the common case, told without looking at every line of a log
    return "description" if _A2L.search(start) else None
