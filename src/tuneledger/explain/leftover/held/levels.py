"""The numbers at which delivered stands still while what was asked for moves on."""

from collections.abc import Iterator

import numpy as np

from tuneledger.arrays import BoolArray, FloatArray
from tuneledger.explain.account import LIMIT, Account
from tuneledger.explain.rules.pattern import mode
from tuneledger.explain.rules.refine import roundest
from tuneledger.ledger.book import Book
from tuneledger.ledger.episodes import true_runs
from tuneledger.logs.facts import quantisation_step
from tuneledger.record import record

_MOST = 3
# Less of it than this, in seconds, in rows and of all that is off, is an edge or chance.
_LEAST_S, _LEAST_ROWS, _LEAST_SHARE = 0.4, 6, 0.08
# What was asked for has to move on by so much beside a delivered that stands, in tolerances: from
# its 5th to its 95th percentile, and in all the stretches together. Delivered keeps to this share.
_MOVED, _MOVED_IN_ALL, _STILL = 3.0, 5.0, 0.34
# Half of the finest usual step of a logged advance, 0.1°, and a share of the rows that stand at the
# number: judgement.
_FINEST_DEG = 0.05
_MOSTLY = 0.7


@record(eq=False)
class Level:
    """A number that delivered is held at, degrees; `within`: give or take."""

    degrees: float
    within: float


def asked_for(book: Book, account: Account) -> FloatArray:
    """What stands before the limits of a sheet: scheduled and all that acts; NaN: not known."""
    asked = book.delivered - account.left
    for entry in account.judging.entries:
        if entry.correction == LIMIT:
            asked = asked - np.nan_to_num(entry.values)
    return np.asarray(asked)


def levels(book: Book, account: Account, asked: FloatArray) -> Iterator[Level]:
    """The levels that stand out in the rows in which something is left over: the highest and the
    lowest of all that was delivered, which limits make, then those that last longest."""
    left = account.left
    busy = np.isfinite(left) & np.isfinite(asked)
    busy &= np.abs(np.nan_to_num(left)) > book.tolerance + book.slack
    least = float(_LEAST_ROWS)
    if book.row_s:
        least = max(least, _LEAST_S / book.row_s * float(book.own.mean()))
    remaining = busy.copy()
    for at in _ends(book, busy):
        if at.sum() >= least and _moves(book, asked, at):
            yield _read(book, at)
            remaining &= ~at
    least = max(least, _LEAST_SHARE * busy.sum())
    for _ in range(_MOST):
        if remaining.sum() < least:
            return
        level = mode(book.delivered[remaining], book.tolerance)
        at = remaining & (np.abs(book.delivered - level) <= book.tolerance)
        if at.sum() < least:
            return
        if _moves(book, asked, at):
            yield _read(book, at)
        remaining &= ~at


def _ends(book: Book, busy: BoolArray) -> Iterator[BoolArray]:
    """The busy rows at the highest, and those at the lowest, that was delivered at all."""
    delivered = book.delivered[book.judged]
    for end in (float(delivered.max()), float(delivered.min())):
        yield busy & (np.abs(book.delivered - end) <= book.tolerance)


def stands_still(book: Book, asked: FloatArray, rows: BoolArray) -> bool:
    """Whether delivered keeps to one number in most of these rows, while what was asked for moves:
    what follows anything at all would move with it."""
    middle = float(np.median(book.delivered[rows]))
    at = rows & (np.abs(book.delivered - middle) <= book.tolerance)
    return bool(at.sum() >= _MOSTLY * rows.sum()) and _moves(book, asked, at)


def _moves(book: Book, asked: FloatArray, at: BoolArray) -> bool:
    """Whether what was asked for moves by degrees, within the stretches themselves, and delivered
    keeps still beside it."""
    low, high = np.percentile(asked[at], [5.0, 95.0])
    lowest, highest = np.percentile(book.delivered[at], [5.0, 95.0])
    if high - low < _MOVED * book.tolerance or highest - lowest > _STILL * (high - low):
        return False
    known = np.flatnonzero(np.isfinite(asked))
    runs = true_runs(at[known])
    within = sum(float(np.ptp(asked[known[a : b + 1]])) for a, b in runs)
    return within >= _MOVED_IN_ALL * book.tolerance


def _read(book: Book, at: BoolArray) -> Level:
    """The number as a person would have written it, within what the log leaves open."""
    here = book.delivered[at]
    middle = float(np.median(here))
    near = here[np.abs(here - middle) <= book.tolerance]
    role = book.roles.by_signal["delivered advance"]
    step = quantisation_step(role.read(book.log.values(role.channel))) or 0.0
    within = max(0.5 * step, float(np.std(near)) / np.sqrt(near.size), 0.5 * _FINEST_DEG)
    return Level(roundest(middle - within, middle + within), within)
