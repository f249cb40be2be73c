"""A channel of the log that carries a part of what is left over, while another rule acts as well.

What the sum of the two stands at tells little: the other rule may act all the time. But when the
channel moves, what is left over moves by as much, and the other rule hardly ever does so in the
same moment. So it is the moves that are compared, over the shortest time in which there are enough
of them.
"""

from collections.abc import Iterator, Sequence

import numpy as np

from tuneledger.arrays import BoolArray, FloatArray, each_once
from tuneledger.explain.account import Account
from tuneledger.explain.leftover.carried import as_logged, carriers
from tuneledger.explain.leftover.model import Extra
from tuneledger.explain.sheets import LaidSheet
from tuneledger.ledger.book import Book
from tuneledger.ledger.episodes import rows_of, true_runs
from tuneledger.ledger.lag import realigned
from tuneledger.logs.model import Channel
from tuneledger.record import record
from tuneledger.wording import quantity

# Moves are looked at over so long, the shortest first.
_OVER_S = (0.2, 0.6, 2.0)
# So many separate moves, and so many of them as large as those of what is left over.
_FEWEST, _SAME_SHARE = 5, 0.85
# It leaves hardly a row further off, and at most this share of the variance: with many moves any,
# since what acts beside it may be far larger.
_REST_SHARE, _WITH_MANY, _FURTHER_SHARE = 0.7, 1.1, 0.1
# Moves that make it sure, and how sure with and without them; so many channels are looked for, and
# a number without a unit has to take so many levels. Judgement.
_MANY, _SURE, _LESS_SURE = 10, 0.93, 0.85
_MOST, _LEVELS = 3, 6


@record(eq=False)
class _Carrier:
    """A channel as it would be posted, its moves, and how many of them it shares."""

    channel: Channel
    sign: int
    values: FloatArray
    moves: int
    same: int
    rest: float


def find(book: Book, account: Account, laid: Sequence[LaidSheet]) -> tuple[Extra, ...]:
    """The channels in degrees whose moves are those of what is left over; none where no channel's
    are. What they leave is looked into further."""
    found: list[Extra] = []
    left, busy = account.left, rows_of(account.runs, account.left.size)
    while busy.any() and len(found) < _MOST:
        best = min(_carriers(book, left), key=lambda one: one.rest, default=None)
        if best is None:
            break
        acts = busy & np.isfinite(left) & (np.abs(np.nan_to_num(best.values)) > book.tolerance)
        if not acts.any():
            break
        found.append(_extra(best, acts))
        left = left - np.nan_to_num(best.values)
    return tuple(found)


def _extra(best: _Carrier, acts: BoolArray) -> Extra:
    largest = float(best.values[acts][np.argmax(np.abs(best.values[acts]))])
    says = (
        f"when {best.channel.name} moves, what is missing moves by as much, {best.same} of "
        f"{best.moves} times; it is up to {quantity(largest, 'deg')}"
    )
    sure = _SURE if best.moves >= _MANY else _LESS_SURE
    return as_logged(best.channel, best.sign, best.values, acts, sure, says)


def _carriers(book: Book, left: FloatArray) -> Iterator[_Carrier]:
    ways = [(sign, rows) for sign in (1, -1) for rows in sorted({0.0, book.lag.rows})]
    known = np.isfinite(left)
    if not known.any() or float(np.ptp(left[known])) <= 2.0 * book.tolerance:
        return
    for channel, numbers in carriers(book):
        for sign, rows in ways:
            values = sign * realigned(numbers, rows, step=2.0 * book.tolerance)
            one = _tried(book, left, channel, sign, values)
            if one is not None:
                yield one


def _tried(
    book: Book, left: FloatArray, channel: Channel, sign: int, values: FloatArray
) -> _Carrier | None:
    known = np.isfinite(left) & np.isfinite(values)
    if known.sum() < _FEWEST:
        return None
    rest = float(np.var((left - values)[known]) / max(float(np.var(left[known])), 1e-9))
    further = np.abs((left - values)[known]) > np.abs(left[known]) + book.tolerance
    if rest > _WITH_MANY or further.mean() > _FURTHER_SHARE:
        return None
    fewest = _FEWEST if rest <= _REST_SHARE else _MANY
    for over_s in _OVER_S:
        moves, same = _moves(book, left, values, max(1, round(over_s / (book.row_s or over_s))))
        if moves >= fewest:
            good = same >= _SAME_SHARE * moves and _can_tell(channel, moves, values)
            return _Carrier(channel, sign, values, moves, same, rest) if good else None
    return None


def _can_tell(channel: Channel, moves: int, values: FloatArray) -> bool:
    """Whether it is in degrees, or else moves often and in steps of its own."""
    return bool(channel.unit) or (moves >= _MANY and each_once(np.round(values, 6)).size >= _LEVELS)


def _moves(book: Book, left: FloatArray, values: FloatArray, apart: int) -> tuple[int, int]:
    """How often the channel moves clearly within so many rows, and how often what is left over
    does so with it."""
    by, of_left = values[apart:] - values[:-apart], left[apart:] - left[:-apart]
    known = np.isfinite(by) & np.isfinite(of_left)
    moving = known & (np.abs(np.nan_to_num(by)) > 2.0 * book.tolerance)
    slack = book.slack[apart:] + book.slack[:-apart]
    alike: BoolArray = known & (np.abs(np.nan_to_num(of_left - by)) <= book.tolerance + slack)
    runs = true_runs(moving)
    # Over one move the two may be a row apart; in its middle they are not.
    same = sum(bool(alike[a : b + 1].mean() >= 0.5) for a, b in runs)
    return len(runs), same
