"""From bytes to lines: the encoding, the line ends, and whether it is text at all."""

import codecs
import re

from tuneledger.logs.delimited.encodings import told_encoding
from tuneledger.logs.delimited.plain import Dress, dress_of, plain
from tuneledger.logs.source import Source
from tuneledger.record import record

_BOMS = (
    (codecs.BOM_UTF8, "utf-8-sig"),
    (codecs.BOM_UTF16_LE, "utf-16"),
    (codecs.BOM_UTF16_BE, "utf-16"),
)
_CONTROL = bytes(set(range(32)) - {9, 10, 12, 13, 26})
_MOST_CONTROL = 0.001
_UNDEFINED = re.compile(rb"[\x81\x8d\x8f\x90\x9d]")
_ENDS = re.compile(r"\r\n|\n|\r")


@record
class Text:
    """The first part of a file as lines.

    encoding: a Python codec's name; "cp1252" and "latin-1" where no other language shows
    ends:     "LF", "CRLF", "CR" or "mixed"
    lines:    complete lines without their ends, in plain form; the last is left out if `head` was
              cut in it
    dress:    what was changed to make them plain
    """

    encoding: str
    ends: str
    lines: tuple[str, ...]
    dress: tuple[Dress, ...] = ()


def read_text(source: Source) -> Text | None:
    """The head of a file as text, or None where it is not text."""
    encoding = _encoding(source.head, whole=source.whole)
    if encoding is None:
        return None
    decoder = codecs.getincrementaldecoder(encoding)(errors="replace")
    text = decoder.decode(source.head, final=source.whole).rstrip("\x00")
    if encoding.startswith("utf-16") and _has_controls(text):
        return None
    ends = _line_ends(text)
    lines = _ENDS.split(text) if ends in ("CR", "mixed") else text.split("\n")
    if not source.whole and len(lines) > 1:
        lines.pop()
    lines = [line.rstrip("\r") for line in lines]
    dress = dress_of(lines)
    if dress:
        lines = [plain(line, dress) for line in lines]
    return Text(encoding, ends, tuple(lines), dress)


def _encoding(head: bytes, *, whole: bool) -> str | None:
    for bom, name in _BOMS:
        if head.startswith(bom):
            return name
    head = head.rstrip(b"\x00")  # at the end, they are what a power cut leaves
    if head.count(0) > _MOST_CONTROL * len(head):
        return _utf_16(head)
    if len(head.translate(None, _CONTROL)) < (1.0 - _MOST_CONTROL) * len(head):
        return None
    try:
        codecs.getincrementaldecoder("utf-8")().decode(head, final=whole)
    except UnicodeDecodeError:
        told = told_encoding(head)
        return "latin-1" if told == "cp1252" and _UNDEFINED.search(head) else told
    return "utf-8"


def _has_controls(text: str) -> bool:
    shown = text.translate(dict.fromkeys(_CONTROL))
    return len(shown) < (1.0 - _MOST_CONTROL) * len(text)


def _utf_16(head: bytes) -> str | None:
    """UTF-16 without a mark: every other byte of plain letters is zero."""
    for first, name in ((1, "utf-16-le"), (0, "utf-16-be")):
        zeros = head[first::2]
        others = head[1 - first :: 2]
        if zeros.count(0) > 0.8 * len(zeros) and others.count(0) == 0:
            return name
    return None


def _line_ends(text: str) -> str:
    both, feeds, returns = text.count("\r\n"), text.count("\n"), text.count("\r")
    if returns > both:
        # A return at the very end may be half of a pair that was cut.
        lone = returns - both - text.endswith("\r")
        if lone:
            return "CR" if feeds == 0 else "mixed"
    if both and both < feeds:
        return "CRLF" if both > 0.9 * feeds else "LF"
    return "CRLF" if both else "LF"
