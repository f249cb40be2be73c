"""The words of a description: identifiers, numbers, texts in quotes, /begin, /end, /include."""

import re
from bisect import bisect_left
from collections.abc import Iterator
from dataclasses import field

from tuneledger.errors import CalibrationError, Fault
from tuneledger.record import record

_TOKEN = re.compile(
    r"""
      (?P<space>\s+ | /\*.*?\*/ | //[^\n]*)
    | (?P<text>"(?:[^"\\]|\\.|"")*")
    | /(?P<mark>begin|end|include)\b
    | (?P<word>(?:[^\s"/]|/(?![*/]|begin\b|end\b|include\b))+)
    """,
    re.VERBOSE | re.DOTALL,
)
_ESCAPE = re.compile(r'\\(.)|""', re.DOTALL)
_ESCAPED = {"n": "\n", "t": "\t", "r": "\r"}


class Quoted(str):
    """A text that stood in quotes, without them."""

    __slots__ = ()


@record
class Page:
    """The text of one file, and what messages call it."""

    text: str
    name: str
    _ends: list[int] = field(default_factory=list, init=False, repr=False, compare=False)

    def line(self, at: int) -> int:
        """The line of a position, counted from 1. Line ends are looked up once, at the first."""
        if not self._ends:
            self._ends.extend(found.start() for found in re.finditer("\n", self.text))
        return bisect_left(self._ends, at) + 1

    def fault(
        self, at: int, found: str, expected: str | None = None, do: str | None = None
    ) -> CalibrationError:
        place = f"line {self.line(at)}"
        return CalibrationError(Fault(found, self.name, place, expected, do))


Token = tuple[str, str, int]
"""(kind, text, position); the kinds are word, text, begin, end and include."""


def tokens(page: Page) -> Iterator[Token]:
    """The tokens of a page. CalibrationError where a comment or text does not end."""
    at, text = 0, page.text
    match = _TOKEN.match
    while at < len(text):
        found = match(text, at)
        if found is None:
            raise page.fault(at, _unended(text, at))
        kind = found.lastgroup or ""
        if kind == "word":
            yield kind, found[0], at
        elif kind == "text":
            yield kind, Quoted(_unescaped(found[0][1:-1])), at
        elif kind == "mark":
            yield found["mark"], found["mark"], at
        at = found.end()


def _unended(text: str, at: int) -> str:
    if text.startswith('"', at):
        return "a text without its closing quote"
    if text.startswith("/*", at):
        return "a comment without its end"
    return "a sign that may not stand here"


def _unescaped(text: str) -> str:
    if "\\" not in text and '""' not in text:
        return text
    return _ESCAPE.sub(lambda found: _ESCAPED.get(found[1] or '"', found[1] or '"'), text)
