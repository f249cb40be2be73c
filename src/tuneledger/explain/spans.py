"""Which supplied revision ran when: a piecewise choice over all logs of one car.

An edit made live, or another file loaded between two drives, shows as a moment before which one
revision fits and after which another does. Each row says how far each revision is off; a change of
revision has to be paid for, and the cheapest sequence is found by dynamic programming over
stretches in which the same revisions fit. Only what goes beyond the tolerance counts, and no row
counts for much, so that neither noise nor a brief event of another kind buys a change.
"""

from collections.abc import Sequence

import numpy as np

from tuneledger.arrays import BoolArray, FloatArray, IntArray, each_once
from tuneledger.explain.running import without_gaps
from tuneledger.explain.trial import Trial
from tuneledger.ledger.book import Book
from tuneledger.ledger.episodes import rows_of, true_runs
from tuneledger.record import record

# Nats that a tenth of a second beyond twice the tolerance speaks against a revision: so a change
# needs some six tenths of a second of proof on its side, and one to and fro twice that.
_PER_TENTH = 2.0
_INDEPENDENT_S = 0.1  # as in `cost`
# What has to speak for a change before it is thought of: it may lie at any of a few thousand
# moments. Between two logs nobody has to say when.
_PROOF = 12.0
_BETWEEN_LOGS = 4.0
# What a change that is thus proved costs beside other explanations: less than a rule in no file,
# since both revisions are at hand with all their numbers, and more than none.
PER_CHANGE = 6.0
_MOST_PIECES = 3000  # the search grows with their square
# Where the revision changes, the inputs of a map and the edit may lie a row or two apart.
_MAP_OFF_SHARE = 0.02
# Moments within a nat of the likeliest are as good as it.
_AS_GOOD = 1.0


@record
class Stretch:
    """Rows of one log, first and last included, in which one sheet ran.

    began: the rows between which the change lies that it begins with; None at the log's start
    proof_s: seconds in which it fits and the revision before or after it does not
    """

    first: int
    last: int
    sheet: int
    began: tuple[int, int] | None = None
    proof_s: float = 0.0


def longest(stretches: Sequence[Sequence[Stretch]], books: Sequence[Book]) -> int:
    """The sheet that ran for most of the time, over all logs."""
    lasted: dict[int, float] = {}
    for log, book in zip(stretches, books, strict=True):
        for one in log:
            seconds = float(book.times[one.last] - book.times[one.first]) + book.row_s
            lasted[one.sheet] = lasted.get(one.sheet, 0.0) + seconds
    return max(lasted, key=lambda sheet: (lasted[sheet], -sheet))


def choose_by_time(
    books: Sequence[Book], trials: Sequence[Sequence[Trial]]
) -> list[list[Stretch]] | None:
    """The cheapest sequence of revisions per log, or None where one runs through all of them.

    trials: one sequence per log, each with a trial per sheet in the order supplied
    """
    if len(trials[0]) < 2:
        return None
    against = [_against(book, log) for book, log in zip(books, trials, strict=True)]
    chosen = _cheapest(against)
    if len({sheet for log in chosen for sheet in each_once(log).tolist()}) < 2:
        return None
    return [
        _stretches(book, log, rows, nats)
        for book, log, rows, nats in zip(books, trials, chosen, against, strict=True)
    ]


def _against(book: Book, trials: Sequence[Trial]) -> FloatArray:
    """What each row says against each sheet, nats; sheets × rows."""
    share = min(1.0, book.row_s / _INDEPENDENT_S) if book.row_s else 1.0
    off = without_gaps(np.array([_off(book, trial) for trial in trials]))
    return _PER_TENTH * share * np.nan_to_num(off)


def _off(book: Book, trial: Trial) -> FloatArray:
    """0 within tolerance, rising to 1 at twice that; the worse of delivered and scheduled.

    A sheet that cannot be held against the log at all is off everywhere; NaN where a sheet leaves
    its numbers open.
    """
    if not trial.judges:
        return np.ones(book.times.shape)
    left = trial.account.off
    of_map = np.abs(np.nan_to_num(trial.map_check.left))
    of_map = np.where(rows_of(trial.map_check.runs, of_map.size), of_map, 0.0)
    off = np.where(book.judged, np.maximum(left, of_map), of_map)
    return np.asarray(np.clip(off / book.tolerance - 1.0, 0.0, 1.0))


def _cheapest(against: Sequence[FloatArray]) -> list[IntArray]:
    """The sheet per row of each log, at the least cost of rows and changes together."""
    pieces = [_pieces(log) for log in against]
    costs = np.concatenate(
        [np.add.reduceat(log, at, axis=1) for log, at in zip(against, pieces, strict=True)], axis=1
    )
    prices = np.full(costs.shape[1], _PROOF)
    prices[np.cumsum([0, *(at.size for at in pieces)])[:-1]] = _BETWEEN_LOGS
    path = _path(costs, prices)
    out, done = [], 0
    for log, at in zip(against, pieces, strict=True):
        lengths = np.diff(np.append(at, log.shape[1]))
        out.append(np.repeat(path[done : done + at.size], lengths))
        done += at.size
    return out


def _pieces(against: FloatArray) -> IntArray:
    """First rows of the pieces in which the same sheets are least off: a change lies between."""
    least = against <= against.min(axis=0) + 1e-12
    moved = np.flatnonzero((least[:, 1:] != least[:, :-1]).any(axis=0)) + 1
    at = np.concatenate(([0], moved)).astype(np.int64)
    if at.size > _MOST_PIECES:
        at = each_once(np.linspace(0, against.shape[1] - 1, _MOST_PIECES).astype(np.int64))
    return at


def _path(costs: FloatArray, prices: FloatArray) -> IntArray:
    """Viterbi's path through pieces: sheets × pieces of cost, and what a change before each costs.

    Of equals the one that stays, then the sheet that was supplied first.
    """
    sheets, size = costs.shape
    every = np.arange(sheets)
    before = np.zeros((size, sheets), dtype=np.int64)
    total = costs[:, 0]
    for i in range(1, size):
        cheapest = int(np.argmin(total))
        changes = total[cheapest] + prices[i] < total
        before[i] = np.where(changes, cheapest, every)
        total = np.where(changes, total[cheapest] + prices[i], total) + costs[:, i]
    path = np.zeros(size, dtype=np.int64)
    path[-1] = int(np.argmin(total))
    for i in range(size - 1, 0, -1):
        path[i - 1] = before[i][path[i]]
    return path


def _stretches(
    book: Book, trials: Sequence[Trial], chosen: IntArray, against: FloatArray
) -> list[Stretch]:
    """The choice as stretches, with every change put where the log has it."""
    changes = (np.flatnonzero(np.diff(chosen)) + 1).tolist()
    bounds = [0, *changes, chosen.size]
    sheets = [int(chosen[row]) for row in bounds[:-1]]
    began: list[tuple[int, int] | None] = [None]
    starts = [0]
    for n in range(1, len(sheets)):
        room = slice(bounds[n - 1], bounds[n + 1])
        old, new = sheets[n - 1], sheets[n]
        at, between = _moment(book, trials[old], trials[new], room)
        starts.append(max(at, starts[-1] + 1))
        began.append(between)
    ends = [*(row - 1 for row in starts[1:]), chosen.size - 1]
    return [
        Stretch(first, last, sheet, since, _proof(book, against, first, last, sheets, n))
        for n, (first, last, sheet, since) in enumerate(
            zip(starts, ends, sheets, began, strict=True)
        )
    ]


def _moment(book: Book, old: Trial, new: Trial, room: slice) -> tuple[int, tuple[int, int]]:
    """The first row of the new revision, and the rows between which it may as well lie.

    Where both fit, the log cannot say: then after a standstill of the engine, if there is one, else
    in the middle.
    """
    gain = _squares(book, old)[room] - _squares(book, new)[room]
    # Of the change before each row, less what the new one alone would cost.
    cost = np.concatenate(([0.0], np.cumsum(gain)))
    good = np.flatnonzero(cost <= cost.min() + _AS_GOOD) + room.start
    first, last = int(good[0]), int(min(good[-1], book.times.size - 1))
    stopped = [end for _, end in true_runs(book.regimes.void[first:last])]
    if stopped:
        return first + stopped[-1] + 1, (first, last)
    middle = 0.5 * (book.times[first] + book.times[last])
    return int(np.searchsorted(book.times, middle)), (first, last)


def _squares(book: Book, trial: Trial) -> FloatArray:
    """Half the squared misfit of each row over half a tolerance, at most 4."""
    left = np.nan_to_num(trial.account.left)
    if trial.map_check.checked:
        left = np.maximum(np.abs(left), np.abs(np.nan_to_num(trial.map_check.left)))
    return np.minimum(0.5 * (left / (0.5 * book.tolerance)) ** 2, 4.0)


def _proof(
    book: Book, against: FloatArray, first: int, last: int, sheets: Sequence[int], n: int
) -> float:
    """Seconds in which the stretch's own sheet fits and that of a neighbour does not."""
    rows = slice(first, last + 1)
    mine = against[sheets[n]][rows]
    beside = [sheets[k] for k in (n - 1, n + 1) if 0 <= k < len(sheets)]
    shown = [float((against[other][rows] > mine).sum()) * book.row_s for other in beside]
    return min(shown, default=0.0)


def mask_of(stretches: Sequence[Stretch], sheet: int, rows: int) -> BoolArray:
    """The rows in which a sheet ran."""
    return rows_of([(s.first, s.last) for s in stretches if s.sheet == sheet], rows)


def map_fits(stretches: Sequence[Stretch], trials: Sequence[Trial], sheet: int) -> bool:
    """Whether scheduled is what a sheet's map says; of several in turn, each where it ran."""
    if not stretches:
        return trials[sheet].map_check.agrees
    rows = trials[sheet].account.left.size
    off = [
        rows_of(trials[i].map_check.runs, rows) & mask_of(stretches, i, rows)
        for i in {stretch.sheet for stretch in stretches}
    ]
    return bool(np.any(off, axis=0).mean() <= _MAP_OFF_SHARE)
