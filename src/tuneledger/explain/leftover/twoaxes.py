"""Another table over engine speed and load while a switch is on: named, not read out.

A second fuel or a mode may bring a whole map. No rule says it, and no line along one channel. That
it is a table of those two shows where one that is read out of some of the time foretells the rest.
Its numbers are those of this run's places and no file, so that it stays a suspicion: what is told
is that there is such a table, when, how much it takes and where.
"""

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from tuneledger.arrays import BoolArray, FloatArray
from tuneledger.calibrations.model import Table
from tuneledger.explain.account import Account
from tuneledger.explain.leftover import tabled
from tuneledger.explain.leftover.model import SUSPECTED, Extra
from tuneledger.explain.model import Point
from tuneledger.explain.rules import find as rules
from tuneledger.explain.rules.best import columns_of
from tuneledger.explain.rules.columns import ODD
from tuneledger.explain.rules.terms import Term
from tuneledger.explain.rules.thin import thinned
from tuneledger.explain.sheets import LaidSheet
from tuneledger.ledger.book import Book
from tuneledger.ledger.episodes import rows_of
from tuneledger.ledger.tolerance import local_change
from tuneledger.phrases import acting
from tuneledger.signals import SIGNALS
from tuneledger.wording import number, quantity, share

if TYPE_CHECKING:
    from tuneledger.explain.surface import Surface

# For less than this a surface can be laid through anything.
_LEAST_S, _LEAST_ROWS = 8.0, 120
# Rules that settle so many of the rows need no table beside them, if they are as sure as this.
_SETTLED, _GUESS = 0.9, 0.5
# Stretches that take turns in reading it and in being foretold; so many of the rows have to be
# foretold, and to come out.
_STRETCH_S, _FORETOLD, _COMES_OUT = 0.8, 0.5, 0.75
_TOLD, _RIGHT_SHARE = 0.7, 0.9
_FINEST = 9
# Where the middle half of what is left over lies within so many tolerances, it is one amount:
# judgement.
_MIDDLE, _ONE = (0.25, 0.75), 3.0
# Nats for a place of the table that was driven at: less than for a changed cell of a map, since the
# time between is foretold.
_PER_PLACE, _EFFECT = 1.0, 2.0


def find(book: Book, account: Account, laid: Sequence[LaidSheet]) -> tuple[Extra, ...]:
    """The suspicion of such a table, where rules do not settle what is left over."""
    busy = rows_of(account.runs, account.left.size) & np.isfinite(account.left)
    if busy.sum() < _LEAST_ROWS or busy.sum() * book.row_s < _LEAST_S:
        return ()
    if _settled(book, account, busy, rules.find(book, account, laid)):
        return ()
    found = thinned(book, account.left)
    channels = [c for c in (columns_of(book) if found is None else found.columns) if c.price < ODD]
    rows = slice(None) if found is None else found.rows
    for term in tabled.switches(account.left[rows], busy[rows], channels):
        whole = term.column.values if found is None else found.whole(book, term.column).values
        extra = _table(book, account, laid, term, whole == term.limit)
        if extra is not None:
            return (extra,)
    return ()


def _settled(book: Book, account: Account, busy: BoolArray, extras: Sequence[Extra]) -> bool:
    """Whether rules that are no mere guess leave next to nothing of what is left over."""
    posted = [extra.values for extra in extras if extra.values is not None]
    if not posted or min(extra.certainty for extra in extras) < _GUESS:
        return False
    rest = np.abs(account.left - np.sum(posted, axis=0))
    return bool((rest <= book.tolerance + book.slack)[busy].mean() >= _SETTLED)


def _table(
    book: Book, account: Account, laid: Sequence[LaidSheet], term: Term, on: BoolArray
) -> Extra | None:
    """What is told of the table while the switch stands so, if there is one."""
    wanted = np.where(on & book.judged, book.start + account.left, np.nan)
    known = np.isfinite(wanted)
    if known.any() and np.ptp(np.quantile(account.left[known], _MIDDLE)) <= _ONE * book.tolerance:
        return None
    turn = (book.times / _STRETCH_S).astype(np.int64) % 2 == 0
    like = laid[0].calibration.spark.map if laid else None
    half = _read(book, wanted, known & turn, like)
    if half is None or not _tells(book, wanted, half.values, known & ~turn, _FORETOLD, _COMES_OUT):
        return None
    whole = _read(book, wanted, known, like)
    if whole is None or not _tells(book, wanted, whole.values, known, _TOLD, _RIGHT_SHARE):
        return None
    values = np.where(known, _bridged(whole.values - book.start, known), 0.0)
    when = acting([term.written()], {term.column.name: term.column.channel.unit})
    names = " and ".join(axis.signal or "" for axis in whole.axes)
    told = known & ~turn & np.isfinite(half.values)
    right = share(float(_right(book, wanted, half.values)[told].mean()))
    return Extra(
        kind="replacement",
        rows=known & (np.abs(values) > book.tolerance),
        certainty=SUSPECTED,
        price=_PER_PLACE * int((whole.seconds > 0).sum()) + _EFFECT,
        entry="",
        values=values,
        points=(
            Point(
                "for",
                f"read out of every other {number(_STRETCH_S)} s, a table over {names} foretells "
                f"{right} of the samples between",
            ),
            Point("against", "it may as well be a correction over both beside the map"),
        ),
        name=f"another table over {names} in place of the map, {_where(whole)}, {when},",
        table=True,
    )


def _read(book: Book, wanted: FloatArray, rows: BoolArray, like: Table | None) -> "Surface | None":
    """The table that these rows follow; like: the map, whose points are tried first."""
    from tuneledger.explain.surface import map_columns, read_surface

    return read_surface(
        map_columns(book.inputs),
        wanted,
        tolerance=book.tolerance,
        row_s=book.row_s,
        rows=rows,
        finest=_FINEST,
        like=like,
    )


def _right(book: Book, wanted: FloatArray, values: FloatArray) -> BoolArray:
    # A late sample may be off by what the map moves meanwhile; by what noise moves, none may.
    bound = book.tolerance + book.slack + local_change(np.nan_to_num(book.start), reach=2)
    return np.asarray(np.abs(wanted - values) <= bound)


def _tells(
    book: Book, wanted: FloatArray, values: FloatArray, rows: BoolArray, most: float, right: float
) -> bool:
    """Whether a table speaks for so many of these rows, and that share of those comes out."""
    told = rows & np.isfinite(values)
    if told.sum() < most * rows.sum() or not told.any():
        return False
    return bool(_right(book, wanted, values)[told].mean() >= right)


def _bridged(off: FloatArray, known: BoolArray) -> FloatArray:
    """The degrees, and where the run was too seldom for the table to say, those just before and
    after."""
    rows = np.arange(off.size)
    told = known & np.isfinite(off)
    return np.asarray(np.interp(rows, rows[told], off[told]))


def _where(table: "Surface") -> str:
    """`from 40 to 190 kPa and from 1500 to 6200 rpm`: where the run has been in it."""
    spans = []
    for axis in table.axes:
        unit = axis.unit or (SIGNALS[axis.signal].unit if axis.signal else "")
        spans.append(f"from {number(axis.at[0])} to {quantity(axis.at[-1], unit)}")
    return " and ".join(spans)
