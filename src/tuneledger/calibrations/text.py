"""From a file to the raw tree of a sheet: reading, decoding and parsing, each with its faults."""

import re
import tomllib
from pathlib import Path
from typing import Any

from tuneledger.bounded import read_whole, why_unread
from tuneledger.errors import Fault, SheetError
from tuneledger.wording import visible

# patterns are texts: only a broken sheet pays for compiling them
_AT_LINE = r"\s*\(at line (\d+), column (\d+)\)$"
_AT_END = r"\s*\(at end of document\)$"
_NAMED = r"(\s*)(?:([^=\[\]#,{}]+)=|(\[.*\]))"
_FLATTER = "Write it flatter; no option lets it in."
_UTF16 = (b"\xff\xfe", b"\xfe\xff")
_PARTS = 64  # of a key: the parser's memory grows with the square of their number
_PART = r"""(?:[\w-]++|"(?:[^"\\\n]|\\.)*+"?+|'[^'\n]*+'?+)"""
_NEXT = rf"[ \t]*+\.[ \t]*+{_PART}"
# passed over whole, so that no key is looked for in it
_COMMENT = r"#[^\n]*+"
_LONG = r'''"""(?:[^"\\]|\\[\s\S]|"(?!""))*+(?:""")?+'''
_LONG_PLAIN = r"""'''(?:[^']|'(?!''))*+(?:''')?+"""
_DEEP = rf"(?P<deep>{_PART}(?:{_NEXT}){{{_PARTS}}})"
_KEYS = rf"{_COMMENT}|{_LONG}|{_LONG_PLAIN}|{_DEEP}|{_PART}(?:{_NEXT})*+"


def read_text(path: str | Path, name: str | None = None) -> str:
    """The text of a sheet. Raises SheetError where the file cannot be read or is not UTF-8."""
    file = name or str(path)
    return decode(read_bytes(path, file), file)


def read_bytes(path: str | Path, file: str) -> bytes:
    """The bytes of a sheet. SheetError where the file cannot be read, or is far too large."""
    try:
        return read_whole(Path(path))
    except (OSError, ValueError) as problem:
        found, do = why_unread(problem)
        raise SheetError(Fault(found, file=file, do=do)) from None


def decode(data: bytes, file: str | None = None) -> str:
    """The text of a sheet's bytes. Raises SheetError where they are not UTF-8."""
    if data.startswith(_UTF16):
        raise SheetError(Fault("UTF-16 text", file=file, expected="UTF-8", do="Save it as UTF-8."))
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        before = data[: error.start]
        line = before.count(b"\n") + 1
        column = len(before) - (before.rfind(b"\n") + 1) + 1
        found = f"the byte 0x{data[error.start]:02x} is not UTF-8 text"
        place = f"line {line}, column {column}"
        raise SheetError(Fault(found, file=file, place=place, do="Save it as UTF-8.")) from None


def parse(text: str, file: str | None = None) -> dict[str, Any]:
    """The raw tree of a sheet's text. Raises SheetError with line and column if it is not TOML."""
    if not text.strip():
        raise SheetError(Fault("the file is empty", file=file, expected="a calibration sheet"))
    if _has_deep_key(text):
        raise SheetError(Fault("nested too deeply to be read", file=file, do=_FLATTER))
    try:
        return tomllib.loads(text)
    except RecursionError:
        raise SheetError(Fault("nested too deeply to be read", file=file, do=_FLATTER)) from None
    except tomllib.TOMLDecodeError as error:
        raise SheetError(_syntax(str(error), text, file)) from None
    except ValueError:  # a whole number of thousands of digits
        do = "Write it with fewer digits; no option lets it in."
        raise SheetError(Fault("a number too long to be read", file=file, do=do)) from None


def _has_deep_key(text: str) -> bool:
    """Whether a key has more parts than any sheet needs; they stand on one line."""
    if all(line.count(".") < _PARTS for line in text.split("\n")):
        return False
    return any(match["deep"] for match in re.finditer(_KEYS, text))


def _syntax(message: str, text: str, file: str | None) -> Fault:
    lines = text.splitlines()
    at = re.search(_AT_LINE, message)
    says = re.sub(_AT_END, "", re.sub(_AT_LINE, "", message))
    if at is None:
        number, column = _last_written(lines)
    else:
        number, column = int(at[1]), int(at[2])
    line = lines[number - 1] if 0 < number <= len(lines) else ""
    do: str | None = "Keep one of the two."
    if says.startswith(("Cannot", "Duplicate")):
        name, number, column = _named_above(lines, number)
        found = f"{name} stands a second time"
    else:
        found, do = _in_words(says, line, column)
    place = f"line {number}, column {column}"
    return Fault(found, file=file, place=place, do=do)


def _last_written(lines: list[str]) -> tuple[int, int]:
    """The end of the last line that is not empty: where a text broke off."""
    number = max((n for n, line in enumerate(lines, 1) if line.strip()), default=1)
    return number, len(lines[number - 1].rstrip()) + 1


def _named_above(lines: list[str], number: int) -> tuple[str, int, int]:
    """The key or heading that begins on a line or last above it, with its line and column."""
    for at in range(min(number, len(lines)), 0, -1):
        named = re.match(_NAMED, lines[at - 1])
        if named:
            return visible((named[2] or named[3]).strip()[:40]), at, len(named[1]) + 1
    return "a key", number, 1


def _in_words(says: str, line: str, column: int) -> tuple[str, str | None]:
    """What the parser met, in plain words, and what to do about the commonest slips."""
    before, here = line[: column - 1], line[column - 1 :]
    if here[:1] in _DASHES and here:
        return "a typeset minus sign", "Write the minus of the keyboard (-)."
    if here[:1] in _QUOTES and here:
        return "a typeset quotation mark", 'Write plain quotes (").'
    if says.startswith("Illegal") and "\\n" in says:
        return _WORDS["Unterminated string"], None
    if "{" in before and not here.strip():
        return "a line break inside braces", "Write what is in braces on one line."
    if re.match(r",\d", here) and re.search(r"\d$", before):
        return "a decimal comma", "Write decimals with a point: 1.5."
    words = next((words for start, words in _WORDS.items() if says.startswith(start)), None)
    near = visible(here.strip()[:30])
    found = words or "not understood as TOML"
    return (f"{found}, near {near}" if near else found), None


_DASHES = "−–—"
_QUOTES = "“”„‘’«»"
_WORDS = {
    "Expected newline": "more text after a value that is complete",
    "Expected '='": "a key without = and a value",
    "Unclosed array": "a list that is not closed with ]",
    "Unclosed inline table": "braces that are not closed with }",
    "Unterminated string": "text without its closing quote",
    "Expected ']'": "a heading that is not closed with ]",
    "Illegal character": "a sign that may not stand here",
    "Invalid value": "no value that can be read",
    "Invalid date": "a date that does not exist",
}
