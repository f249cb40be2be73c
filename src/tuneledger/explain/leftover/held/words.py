"""A held advance in words: what it is called, and what speaks for and against it."""

from collections.abc import Iterator

import numpy as np

from tuneledger.arrays import FloatArray
from tuneledger.explain.leftover.held.holding import Telling
from tuneledger.explain.leftover.held.levels import Level
from tuneledger.explain.leftover.held.when import When
from tuneledger.explain.model import Hold, Point
from tuneledger.explain.sheets import LaidSheet
from tuneledger.ledger.book import Book
from tuneledger.ledger.episodes import merged, true_runs
from tuneledger.phrases import acting
from tuneledger.wording import degrees, seconds, share

_CALLED = {
    "at most": "a highest advance of {}",
    "at least": "a lowest advance of {}",
    "replace": "a fixed advance of {}",
}


def name(hold: Hold, sheet: LaidSheet | None, *, limit: bool) -> str:
    """`a highest advance of 26.0°, not 38.0° as revision D has it,`.

    limit: it acts all through, as the limits of a sheet do
    """
    called = _CALLED[hold.effect].format(degrees(hold.degrees, signed=False))
    if sheet is None or not limit:
        return called
    limits = sheet.calibration.spark.limits
    high = hold.effect == "at most"
    listed = None if limits is None else limits.highest if high else limits.lowest
    if listed is None:
        return f"{called}, which revision {sheet.revision} does not list,"
    there = degrees(listed, signed=False)
    return f"{called}, not {there} as revision {sheet.revision} has it,"


def points(
    book: Book, asked: FloatArray, level: Level, told: Telling, when: When, *, either: bool
) -> Iterator[Point]:
    """The evidence for and against delivered being held, as sentences.

    asked:  degrees per row without the hold
    either: whether a limit and a fixed advance would look the same here
    """
    held = told.acts & when.on
    runs = merged(true_runs(held), book.times, book.row_s)
    low, high = float(asked[held].min()), float(asked[held].max())
    within = degrees(level.within, 2, signed=False)
    yield Point(
        "for",
        f"delivered stands at {degrees(level.degrees, signed=False)} (give or take {within}) "
        f"{'once' if len(runs) == 1 else f'{len(runs)} times'}, for {_seconds(book, held.sum())} "
        f"in all, while what was asked for goes from {degrees(low, signed=False)} to "
        f"{degrees(high, signed=False)}",
    )
    for term in when.terms:
        units = {term.column.name: term.column.channel.unit}
        says = f"it is held only {acting([term.written()], units)}"
        yield Point("for", says, term.column.name, term.limit if term.side else None)
    follows = int((told.follows & when.on).sum())
    if follows:
        yield Point("for", f"within it, delivered follows for {_seconds(book, follows)}")
    if either:
        yield Point(
            "against",
            "what was asked for never came within it then: a highest or lowest advance and a fixed "
            "one would look the same",
        )
    elsewhere = int((told.rests & when.on).sum())
    if elsewhere:
        part = share(elsewhere / (elsewhere + int(held.sum())))
        yield Point("against", f"in {part} of the samples beyond it delivered goes beyond as well")


def _seconds(book: Book, rows: int) -> str:
    return seconds(float(rows) * book.row_s / max(float(np.mean(book.own)), 1e-9))
