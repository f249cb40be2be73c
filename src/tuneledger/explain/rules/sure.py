"""How sure a rule is: how likely it will hold on the next log."""

import numpy as np

from tuneledger.arrays import FloatArray
from tuneledger.explain.brief import too_brief
from tuneledger.explain.rules.ends import open_ends
from tuneledger.explain.rules.fitted import Fitted, active
from tuneledger.explain.rules.passes import passes
from tuneledger.explain.rules.unlogged import logged
from tuneledger.ledger.book import Book
from tuneledger.ledger.episodes import merged, true_runs
from tuneledger.ledger.tolerance import local_change

# Chance that something else turned at one edge of the rule as well, and that a wrong curve fits one
# pass along it.
_BY_EDGE, _BY_CURVE = 0.3, 0.35
# And that a fixed amount all through was something else: of a whole run, and of a moment, or
# of one speed and load, in which whatever acts there looks as if it always did.
_BY_CONSTANT, _BY_CONSTANT_HERE = 0.1, 0.5
# What a run shows besides one operating point: that much of its time at another speed or at another
# scheduled advance. Common practice, no source.
_ELSEWHERE, _SPEED_RATIO, _SCHEDULED_DEG = 0.05, 1.3, 3.0
# What no doubt here foresees, and the most that a log can make sure: of 48 rules of made cases for
# development that were said to be so sure, all held on another drive.
_NOTHING_ELSE, _MOST = 0.99, 0.98
# So sure at most while the next drive is likely to go beyond where a curve was seen to end.
# Of 34 such among the made cases for development, which took few words else, 31 held.
_MOST_OPEN = 0.91
# A curve of which nothing was seen between two amounts is a threshold, most likely of another
# channel: so many of the rows at least lie on a slope that was driven along.
_SEEN, _INNER, _MOSTLY = 0.03, 0.1, 0.6
_LEAPS = 0.7


def certainty(book: Book, left: FloatArray, best: Fitted, among_rivals: float) -> float:
    """What counts is the share of what was left over that the rule settles, how much has to be said
    of it for the edges at which it was seen to start or stop, and how many other rules would have
    done as well. However little has to be said, few edges make nothing surer than they can.

    among_rivals: how likely it is the right one of those that fit
    """
    turns = turns_seen(book, left, best)
    sure = _NOTHING_ELSE * settled(book, left, best) * among_rivals * logged(best, turns)
    if leaps(best, left):
        sure *= _LEAPS
    most = _MOST_OPEN if open_ends(book, best) else _MOST
    no_chance = 1.0 - _chance(book, left, best, turns)
    if best.shape is None and best.terms:
        most = min(most, no_chance)
    else:
        sure *= no_chance
    return round(float(np.clip(sure, 0.0, most)), 2)


def turns_seen(book: Book, left: FloatArray, rule: Fitted) -> int:
    """At how many edges a rule was seen to start or stop; of a curve, or twice as often as its
    channel passed along it, where that is more."""
    edges = lasting_edges(book, rule.values)
    return edges if rule.shape is None else max(edges, int(2 * _passes(left, rule)))


def leaps(rule: Fitted, left: FloatArray) -> bool:
    """Whether most of a curve's degrees come at once, where the log has hardly a row in between."""
    if rule.shape is None or rule.shape.at.size < 2:
        return False
    number = rule.shape.column.values[np.isfinite(left) & active(rule.terms, left.size)]
    number = number[np.isfinite(number)]
    at, rises = rule.shape.at, np.abs(np.diff(rule.shape.deg))
    low, high = at[:-1] + _INNER * np.diff(at), at[1:] - _INNER * np.diff(at)
    inside = [np.count_nonzero((number > a) & (number < b)) for a, b in zip(low, high, strict=True)]
    leapt = np.array(inside) < _SEEN * max(number.size, 1)
    return bool(rises[leapt].sum() >= _MOSTLY * max(float(np.ptp(rule.shape.deg)), 1e-9))


def settled(book: Book, left: FloatArray, best: Fitted) -> float:
    """Share of the rows in which something was left over that the rule brings to balance.

    Where a channel shakes, so does a curve along it: that excuses no more than the channel's own
    noise is worth, or a curve along nothing but noise would settle all.
    """
    busy = np.isfinite(left) & (np.abs(left) > book.tolerance + book.slack)
    edges = local_change(best.values, reach=2)
    rounding = best.rounding()
    if rounding is not None:
        turns = local_change(active(best.terms, left.size).astype(np.float64), reach=2) > 0
        edges = np.where(turns, edges, rounding)
    close = book.tolerance + book.slack + np.abs(best.doubt) + edges
    return float((np.abs(left - best.values)[busy] <= close[busy]).mean())


def _chance(book: Book, left: FloatArray, rule: Fitted, turns: int) -> float:
    """How likely a wrong rule would have fitted all the same."""
    if rule.shape is not None:
        return float(_BY_CURVE ** (1.0 + min(_passes(left, rule), 5.0)))
    if not rule.terms:
        return _BY_CONSTANT if _goes_about(book) else _BY_CONSTANT_HERE
    return float(_BY_EDGE ** max(1, turns))


def _passes(left: FloatArray, rule: Fitted) -> float:
    """How often its channel passed along a curve, which is tried anew each time."""
    assert rule.shape is not None
    return passes(rule.shape.column.values[np.isfinite(left)])


def _goes_about(book: Book) -> bool:
    """Whether what was compared lasts for longer than a moment, and at more than one speed or load.

    Scheduled advance tells of load as well where no channel does.
    """
    speed, scheduled = book.inputs.signal("engine speed", "rpm"), book.start
    if too_brief([book]):
        return False
    low, high = _spread(scheduled[book.judged])
    slowest, fastest = _spread(speed[book.judged]) if speed is not None else (0.0, 0.0)
    return high - low >= _SCHEDULED_DEG or fastest > _SPEED_RATIO * max(slowest, 1.0)


def _spread(values: FloatArray) -> tuple[float, float]:
    """The lowest and the highest value that lasted, a moment here and there left out."""
    known = values[np.isfinite(values)]
    if not known.size:
        return 0.0, 0.0
    low, high = np.quantile(known, [_ELSEWHERE, 1.0 - _ELSEWHERE])
    return float(low), float(high)


def lasting_edges(book: Book, values: FloatArray) -> int:
    """How often the rule starts or stops within the log; flicker at a threshold does not count."""
    least = max(3.0, 0.2 / book.row_s) if book.row_s > 0 else 3.0
    runs = merged(true_runs(np.abs(values) > book.tolerance), book.times, book.row_s)
    lasting = [(a, b) for a, b in runs if b - a + 1 >= least]
    return sum((a > 0) + (b < values.size - 1) for a, b in lasting)
