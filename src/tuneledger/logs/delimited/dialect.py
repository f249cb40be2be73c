"""Which character stands between cells, told by what the pieces are if one cuts there."""

import csv
import re
from collections import Counter
from collections.abc import Iterable, Sequence
from functools import lru_cache

from tuneledger.logs.delimited.cells import bare, is_missing, is_number, word_value
from tuneledger.logs.delimited.clock import is_clock
from tuneledger.record import record
from tuneledger.units import parse_unit

csv.field_size_limit(2**31 - 1)  # a stranger's file may hold a name longer than the usual limit

DELIMITERS = {",": "comma", ";": "semicolon", "\t": "tab", "|": "bar"}
_BODY_LINES = 16
_MOST_PHRASES = 0.2
_LOOKED_AT = 12  # columns of a line that are enough to tell a row of samples
# Markup, sheets and structured data carry these in every line; samples do not.
_NOT_SAMPLES = re.compile(r"[\[\]{}<>]|^\s*[\w.\"-]+\s*=\s")
_FIGURE = re.compile(r"[+-]?\d[\d.,'’ \u00a0\u202f]*((?<=[\d ])[%°A-Za-z][%°A-Za-z/]{0,6})?")


@record
class Cut:
    """Lines cut at a delimiter, as far as they look like samples.

    width:   cells in most of those lines
    numeric: columns that hold numbers or clock times in most of them
    weight:  how many cells came out as values, times their share of all
    """

    delimiter: str
    width: int
    numeric: tuple[int, ...]
    weight: float

    def is_sample(self, cells: Sequence[str]) -> bool:
        """Whether cells look like a row of samples: numbers where the log has its numbers."""
        if abs(len(cells) - self.width) > 1 or _wordy(cells):
            return False
        every = 1 + len(self.numeric) // _LOOKED_AT
        own = [
            cells[i] for i in self.numeric[::every] if i < len(cells) and not is_missing(cells[i])
        ]
        right = sum(is_value(cell) for cell in own)
        return right > 0.5 * len(own)

    def is_like_sample(self, cells: Sequence[str]) -> bool:
        """A row of samples, or one of them torn: numbers in their columns as far as it goes."""
        if self.is_sample(cells):
            return True
        own = [cells[i] for i in self.numeric if i < len(cells) and not is_missing(cells[i])]
        return len(cells) > 1 and len(own) > 0 and all(map(is_value, own[:2])) and _half_values(own)


def _half_values(cells: Sequence[str]) -> bool:
    return sum(map(is_value, cells)) >= 0.5 * len(cells)


def _wordy(cells: Sequence[str]) -> bool:
    """Prose: whole phrases in many cells."""
    phrases = sum(cell.count(" ") > 1 and cell.strip()[:1].isalnum() for cell in cells if cell)
    return phrases > _MOST_PHRASES * len(cells) and not all(map(is_value, cells))


def split(line: str, delimiter: str) -> list[str]:
    """The cells of one line, quotes heeded, outer blanks and quotes off."""
    if '"' not in line:
        return [cell.strip() for cell in line.split(delimiter)]
    row = next(csv.reader([line], delimiter=delimiter), [])
    return [cell.strip().strip('"').strip() for cell in row]


@lru_cache(maxsize=1 << 14)
def is_value(cell: str) -> bool:
    """A number in any style, or a clock time."""
    text = bare(cell)
    if not text or not any(c.isdigit() for c in text):
        return False
    return is_number(text, ".") or is_number(text, ",") or is_clock(text) or _is_figure(text)


def _is_figure(text: str) -> bool:
    """Grouped thousands, or a number with a unit behind it."""
    found = _FIGURE.fullmatch(text)
    return found is not None and (not found[1] or parse_unit(found[1]) is not None)


def may_be_samples(line: str) -> bool:
    """Whether a line has none of the marks of markup, sheets and structured data."""
    return _NOT_SAMPLES.search(line) is None


def find_cut(lines: Sequence[str]) -> Cut | None:
    """The delimiter that cuts the lines into most values, or None where none gives two columns."""
    filled = [line for line in lines if line.strip()]
    body = filled[-min(_BODY_LINES, max(1, len(filled) // 2)) :]
    body = [line for line in body if may_be_samples(line)]
    cuts = [cut for delimiter in DELIMITERS if (cut := _cut(body, delimiter)) is not None]
    return max(cuts, key=lambda cut: cut.weight, default=None)


def _cut(body: Iterable[str], delimiter: str) -> Cut | None:
    rows = [row for line in body if len(row := split(line, delimiter)) > 1]
    if not rows:
        return None
    often = Counter(len(row) for row in rows)
    width = max(often, key=lambda cells: (often[cells], cells))
    rows = [row for row in rows if len(row) == width]
    filled = [cell for row in rows for cell in row if not is_missing(cell)]
    values = [cell for cell in filled if is_value(cell) or word_value(bare(cell)) is not None]
    numeric = tuple(i for i in range(width) if _holds_numbers([row[i] for row in rows]))
    rest = sorted(set(range(width)).difference(numeric))
    others = [i for i in rest if _may_be_states(row[i] for row in rows)]
    if not numeric or len(numeric) + len(others) < 2:
        return None
    return Cut(delimiter, width, numeric, len(values) * len(values) / max(1, len(filled)))


def _holds_numbers(cells: Sequence[str]) -> bool:
    filled = [cell for cell in cells if not is_missing(cell)]
    return bool(filled) and sum(map(is_value, filled)) >= 0.6 * len(filled)


def _may_be_states(cells: Iterable[str]) -> bool:
    """Words of a switch, or nothing at all."""
    return all(word_value(bare(cell)) is not None for cell in cells)
