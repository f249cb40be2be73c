"""Is this a calibration sheet? Told by what the text says of itself; never raises."""

import codecs
import re

_FORMAT = re.compile(r"^[ \t]*[\"']?format(?![\w-])[\"']?[ \t]*[=:]?[ \t]*(.{0,80})", re.MULTILINE)
_HEADING = re.compile(
    r"^[ \t]*(?:\[[ \t]*spark *\. *map[ \t]*\]|\[\[[ \t]*spark *\. *correction[ \t]*\]\])",
    re.MULTILINE,
)
_OPENING = re.compile(rb"\[[ \t]*spark")
_UTF_16 = (codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)
_QUOTES = "\"'“”„‘’ \t"
_NAME = "tuneledger-calibration"


def looks_like_sheet(head: bytes) -> bool:
    """Whether the beginning of a file says that it is a calibration sheet.

    A broken sheet and one of a newer format are sheets as well, so that what is said about them
    is about a sheet. The first `format` line decides; without one, a heading that only sheets
    have.
    """
    wide = head.startswith(_UTF_16)
    if not wide and b"format" not in head and _OPENING.search(head) is None:
        return False  # so is a log told, without reading half a megabyte of it line by line
    text = _text(bytes(head))
    said = _FORMAT.search(text)
    if said is not None:
        return said[1].lstrip(_QUOTES).startswith(_NAME)
    return _HEADING.search(text) is not None


def _text(head: bytes) -> str:
    """The head as text, whatever the encoding; line ends as a single kind."""
    if head.startswith(_UTF_16):
        text = head.decode("utf-16", "replace")
    else:
        text = head.decode("utf-8-sig", "replace")
    return text.replace("\r\n", "\n").replace("\r", "\n")
