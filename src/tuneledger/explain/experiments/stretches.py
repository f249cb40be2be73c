"""Stretches that could be driven, as inputs of evaluation: rows of the log with things set anew.

Each stretch is a row of the log at light throttle or at idle, in which some channels are set to
something else. It is written as four rows in time, so that timers and switches that have only just
been turned come out as they would.
"""

from collections.abc import Sequence
from weakref import WeakKeyDictionary

import numpy as np

from tuneledger.arrays import FloatArray, IntArray
from tuneledger.explain.experiments.controls import Option
from tuneledger.ledger.book import Book
from tuneledger.signals import SIGNALS
from tuneledger.units import convert, parse_unit

# Seconds from a stretch's start: it settles, then perhaps a switch turns, then it is looked at.
_AT = np.array([0.0, 60.0, 120.0, 120.3])
# Seconds between two stretches put one after the other: no timer of a sheet lasts from one to the
# next.
_APART_S = 1000.0
LIGHT, IDLE = "light throttle", "idle"
_TURNED_FROM = 2  # rows before this one have the switch as it was
# Two channels that go together this closely (correlation) say the same.
_GOES_WITH = 0.97
_FEW_LEVELS = 8
_LOOKED_AT = 20_000  # rows of a long log that tell it
Line = tuple[float, float]

# Forgotten as soon as nobody holds the book.
_LINES: WeakKeyDictionary[Book, dict[tuple[str, str], Line | None]] = WeakKeyDictionary()


class Stretches:
    """Implements `evaluate.model.Inputs` over made-up stretches.

    rows: rows of the log to start from; settings: per stretch, what is set anew. Every row is
    combined with every setting; `looked_at` picks the last row of each, settings × rows.
    """

    def __init__(self, book: Book, rows: IntArray, settings: Sequence[Sequence[Option]]) -> None:
        self._book, self._rows, self._settings = book, rows, settings
        blocks = rows.size * len(settings)
        starts = np.arange(blocks) * _APART_S
        self._times: FloatArray = (starts[:, None] + _AT[None, :]).ravel()
        self._channels: dict[str, FloatArray] = {}

    @property
    def times(self) -> FloatArray:
        return self._times

    def looked_at(self, values: FloatArray) -> FloatArray:
        """The values at the end of each stretch: settings × rows."""
        last = values.reshape(-1, _AT.size)[:, -1]
        return last.reshape(len(self._settings), self._rows.size)

    def signal(self, name: str, unit: str | None) -> FloatArray | None:
        if name == "time":
            return None
        role = self._book.roles.get(name)
        if role is None:
            return None
        own = role.read(self._numbers(role.channel.name))
        return own if unit is None else convert(own, SIGNALS[name].unit, unit)

    def channel(self, name: str, unit: str | None) -> FloatArray | None:
        channel = self._book.log.find(name)
        if channel is None:
            return None
        numbers = self._numbers(channel.name)
        label = parse_unit(channel.unit) if channel.unit else None
        if unit is None or label is None or label.kind in ("number", "state"):
            return numbers
        return convert(numbers, channel.unit, unit)

    def _numbers(self, name: str) -> FloatArray:
        if name not in self._channels:
            logged = self._book.inputs.channel(name, None)
            base = np.full(self._rows.size, np.nan) if logged is None else logged[self._rows]
            blocks = np.tile(base, len(self._settings))
            out = np.repeat(blocks, _AT.size).reshape(-1, _AT.size)
            for i, setting in enumerate(self._settings):
                here = slice(i * self._rows.size, (i + 1) * self._rows.size)
                for option in setting:
                    if option.channel == name:
                        out[here] = option.value
                        if option.fresh:
                            out[here, :_TURNED_FROM] = 1.0 - option.value
                    elif all(one.channel != name for one in setting):
                        line = straight_line(self._book, name, option.channel)
                        if line is not None:
                            out[here] = line[0] * option.value + line[1]
            self._channels[name] = out.ravel()
        return self._channels[name]


def straight_line(book: Book, name: str, other: str) -> Line | None:
    """Slope and offset of a channel over another that it always goes with, else None: two sensors
    on one shaft, and who sets one has set the other.

    Two switches that were turned together are still two switches. Asked for the same two channels
    again and again, it is worked out once for a book.
    """
    known = _LINES.setdefault(book, {})
    if (name, other) not in known:
        known[name, other] = _straight_line(book, name, other)
    return known[name, other]


def _straight_line(book: Book, name: str, other: str) -> Line | None:
    values, over = book.inputs.channel(name, None), book.inputs.channel(other, None)
    if values is None or over is None:
        return None
    known = np.isfinite(values) & np.isfinite(over)
    every = max(1, known.size // _LOOKED_AT)
    y, x = values[known][::every], over[known][::every]
    if y.size < 10 or min(np.unique(x).size, np.unique(y).size) <= _FEW_LEVELS:
        return None
    if abs(float(np.corrcoef(x, y)[0, 1])) < _GOES_WITH:
        return None
    slope, offset = np.polyfit(x, y, 1)
    return float(slope), float(offset)


def mild_rows(book: Book, off: Sequence[str] = (), most: int = 24) -> dict[str, IntArray]:
    """Rows from which a mild drive can start: `light throttle` and `idle`; either may be empty.

    off: switches that are off there
    """
    regimes = book.regimes
    calm = ~regimes.void & ~regimes.load & np.isfinite(book.delivered)
    for name in off:
        switch = book.inputs.channel(name, None)
        if switch is not None:
            calm &= switch < 0.5
    found = {LIGHT: calm & ~regimes.closed, IDLE: calm & regimes.closed}
    out = {}
    for name, mask in found.items():
        rows = np.flatnonzero(mask)
        if rows.size > most:
            rows = rows[np.linspace(0, rows.size - 1, most).astype(np.int64)]
        out[name] = rows.astype(np.int64)
    return out
