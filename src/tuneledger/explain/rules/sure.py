"""How sure a rule is: how likely it will hold on the next log."""

import numpy as np

from tuneledger.arrays import FloatArray
from tuneledger.explain.rules.fitted import Fitted
from tuneledger.ledger.book import Book
from tuneledger.ledger.episodes import merged, true_runs
from tuneledger.ledger.tolerance import local_change

# Chance that a wrong condition changes sides at one edge of the rule all the same.
_BY_SWITCH, _BY_SLOPE, _BY_CURVE = 0.3, 0.45, 0.35
# And that a fixed amount all through the log was something else.
_BY_CONSTANT = 0.1
# Three conditions can be put together to fit much.
_LONG = 0.87
_MOST = 0.97


def certainty(book: Book, left: FloatArray, best: Fitted, among_rivals: float) -> float:
    """What counts is the share of what was left over that the rule settles, at how many edges it
    was seen to start or stop (a switch that turns with each of them proves more than a slope that
    passes), and how many other rules would have done as well.

    among_rivals: how likely it is the right one of those that fit
    """
    seen = 1.0 - _chance(book, left, best)
    sure = 0.98 * settled(book, left, best) * seen * among_rivals
    if len(best.terms) > 2:
        sure *= _LONG
    return round(float(np.clip(sure, 0.0, _MOST)), 2)


def settled(book: Book, left: FloatArray, best: Fitted) -> float:
    """Share of the rows in which something was left over that the rule brings to balance."""
    busy = np.isfinite(left) & (np.abs(left) > book.tolerance + book.slack)
    close = book.tolerance + book.slack + np.abs(best.doubt) + local_change(best.values, reach=2)
    return float((np.abs(left - best.values)[busy] <= close[busy]).mean())


def _chance(book: Book, left: FloatArray, rule: Fitted) -> float:
    """How likely a wrong rule would have fitted all the same."""
    if rule.shape is not None:
        # A curve is tried anew each time its channel passes along it.
        number = rule.shape.column.values[np.isfinite(left)]
        number = number[np.isfinite(number)]
        span = float(np.ptp(number)) if number.size else 0.0
        passes = float(np.abs(np.diff(number)).sum()) / span if span > 0 else 0.0
        return float(_BY_CURVE ** (1.0 + min(passes, 5.0)))
    if not rule.terms:
        return _BY_CONSTANT
    switched = any(term.side == 0 or term.timer for term in rule.terms)
    edges = max(1, lasting_edges(book, rule.values))
    return float((_BY_SWITCH if switched else _BY_SLOPE) ** edges)


def lasting_edges(book: Book, values: FloatArray) -> int:
    """How often the rule starts or stops within the log; flicker at a threshold does not count."""
    least = max(3.0, 0.2 / book.row_s) if book.row_s > 0 else 3.0
    runs = merged(true_runs(np.abs(values) > book.tolerance), book.times, book.row_s)
    lasting = [(a, b) for a, b in runs if b - a + 1 >= least]
    return sum((a > 0) + (b < values.size - 1) for a, b in lasting)
