"""Channels that fall silent for a while, and what a correction that reads them would then post.

A logger drops a slow channel for seconds, a sensor's message is lost. Nothing is computed there.
But what the channel said before and after is known, and joined across the gap it says what the
correction would have been, if nothing happened meanwhile that nobody saw.
"""

import numpy as np

from tuneledger.arrays import BoolArray, FloatArray
from tuneledger.calibrations.model import Correction, readings
from tuneledger.evaluate.model import Contribution, Inputs
from tuneledger.evaluate.replay import contributions
from tuneledger.explain.sheets import LaidSheet
from tuneledger.ledger.book import Book
from tuneledger.ledger.episodes import true_runs
from tuneledger.record import record
from tuneledger.wording import few, listing, time_span

_COUNTED = 15.0  # small whole numbers are gears, modes and flags: they stay what they were


@record(eq=False)
class Lapse:
    """What a correction reads that is silent at times.

    names: signals and channels, as the sheet calls them; rows: where at least one is silent
    part:  the correction, had they gone on as their samples before and after say
    """

    names: tuple[str, ...]
    rows: BoolArray
    part: Contribution

    def closed(self, rows: BoolArray) -> bool:
        """Whether what is added in these rows stands between samples before and after."""
        known, asked = np.flatnonzero(~self.rows), np.flatnonzero(rows)
        if self.part.effect != "add" or not (known.size and asked.size):
            return False
        return bool(known[0] < asked[0] and asked[-1] < known[-1])

    def told(self, book: Book) -> str:
        """Which are silent, and when."""
        spans = [time_span(book.times[a], book.times[b]) for a, b in true_runs(self.rows)]
        have = "has" if len(self.names) == 1 else "have"
        roles = [role for name in self.names if (role := book.roles.get(name)) is not None]
        what = "no samples" if all(role.unsure is None for role in roles) else "nothing to trust"
        return f"{listing(self.names)} {have} {what} at {few(spans)}"


def lapse_of(book: Book, sheet: LaidSheet, correction: Correction) -> Lapse | None:
    """What a correction reads that is logged, but not all the time; None where nothing is."""
    rows: BoolArray = np.zeros(book.times.shape, dtype=np.bool_)
    names = []
    for name in dict.fromkeys(_names(correction)):
        values = _logged(book.inputs, name)
        if values is None:
            continue
        silent = np.isnan(values)
        if silent.any() and not silent.all():
            names.append(name)
            rows |= silent
    if not names:
        return None
    parts = contributions(sheet.calibration, Bridged(book.inputs), file=sheet.file)
    part = next(part for part in parts if part.correction == correction.id)
    return Lapse(tuple(names), rows, part)


class Bridged:
    """`Inputs` without gaps: numbers go straight from the sample before to the one after, small
    whole numbers stay what they were, and the first and last sample hold beyond the ends."""

    def __init__(self, inputs: Inputs) -> None:
        self._inputs = inputs

    @property
    def times(self) -> FloatArray:
        return self._inputs.times

    def signal(self, name: str, unit: str | None) -> FloatArray | None:
        return _without_gaps(self._inputs.signal(name, unit), self.times)

    def channel(self, name: str, unit: str | None) -> FloatArray | None:
        return _without_gaps(self._inputs.channel(name, unit), self.times)


def _without_gaps(values: FloatArray | None, times: FloatArray) -> FloatArray | None:
    if values is None:
        return None
    known = np.flatnonzero(np.isfinite(values))
    if known.size in (0, values.size):
        return values
    own = values[known]
    if bool(np.all(own == np.rint(own))) and own.min() >= 0.0 and own.max() <= _COUNTED:
        before = np.searchsorted(known, np.arange(values.size), side="right") - 1
        return own[np.clip(before, 0, None)]
    return np.interp(times, times[known], own)


def _names(correction: Correction) -> list[str]:
    every = (
        name
        for one in readings(correction)
        for name in (one.signal, one.channel, one.minus, one.over)
    )
    return [name for name in every if name]


def _logged(inputs: Inputs, name: str) -> FloatArray | None:
    values = inputs.signal(name, None)
    return inputs.channel(name, None) if values is None else values
