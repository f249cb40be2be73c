"""Under which condition the advance is held, looked for as that of any rule."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from tuneledger.arrays import BoolArray, FloatArray
from tuneledger.explain.leftover.held.holding import Telling
from tuneledger.explain.rules.best import remembered
from tuneledger.explain.rules.cover import PER_TERM
from tuneledger.explain.rules.fitted import Fitted, aligned, fitted
from tuneledger.explain.rules.rivals import share_of_right
from tuneledger.explain.rules.sure import certainty, lasting_edges
from tuneledger.explain.rules.terms import Term
from tuneledger.ledger.book import Book
from tuneledger.record import record

# In place of degrees, which differ from row to row: so many tolerances in each row that is held.
_STANDS_FOR = -6.0
# Up to this share of the telling rows, and for no longer, edges alone may speak against it.
_EDGES, _EDGES_S = 0.01, 0.2
# Chance that something else looked so at one edge; and the most that a log can make sure.
_BY_EDGE, _MOST = 0.3, 0.97


@record(eq=False)
class When:
    """Conditions under which the advance is held; none: always.

    on:    rows in which they hold; doubt: rows in which the log cannot tell that
    sure:  how sure they are; price: nats of their length
    tied:  other conditions that this log cannot tell from them
    """

    terms: tuple[Term, ...]
    on: BoolArray
    doubt: BoolArray
    sure: float
    price: float
    tied: tuple[tuple[Term, ...], ...] = ()


def when(book: Book, told: Telling) -> When | None:
    """The shortest conditions that part the rows that are held from those that are not."""
    against = int(told.rests.sum())
    always = np.ones(told.acts.shape, dtype=np.bool_)
    if against * book.row_s <= _EDGES_S and against <= _EDGES * told.acts.sum():
        sure = _seen(lasting_edges(book, np.where(told.acts, 1.0, 0.0) * 2 * book.tolerance))
        return When((), always, ~always, sure, 0.0)
    stands = np.where(told.acts, _STANDS_FOR * book.tolerance, np.nan)
    stands = np.where(told.rests, 0.0, stands)
    found = remembered(book, stands, frozenset(), curves=False)
    if found is None:
        return None
    best = _placed(book, stands, found.best)
    if best.ramp is not None or not best.terms:
        return None
    sure = certainty(book, stands, _as_seen(best, stands), share_of_right(best, found.tied))
    on = np.abs(best.values) > 0
    price = sum(PER_TERM + term.price for term in best.terms)
    return When(
        best.terms, on, best.doubt != 0, sure, price, _terms([*found.tied, *found.possible])
    )


def _placed(book: Book, stands: FloatArray, best: Fitted) -> Fitted:
    """The rule with each threshold at the logged number beside it, where that does better: rows in
    which a rounded channel stands at its threshold tell nothing."""
    for i, term in enumerate(best.terms):
        if term.side == 0 or term.timer is not None:
            continue
        number = term.column.values
        below, above = number[number < term.limit], number[number > term.limit]
        for limit in (below.max(initial=-np.inf), above.min(initial=np.inf)):
            if not np.isfinite(limit):
                continue
            terms = [replace(t, limit=float(limit)) if k == i else t
                     for k, t in enumerate(best.terms)]  # fmt: skip
            one = fitted(book, stands, terms, level=best.level)
            best = aligned(book, stands, one) if one.cost < best.cost else best
    return best


def _terms(rules: Sequence[Fitted]) -> tuple[tuple[Term, ...], ...]:
    return tuple(one.terms for one in rules if one.terms)


def _as_seen(rule: Fitted, stands: FloatArray) -> Fitted:
    """The rule as the telling rows have shown it: between them, as in the last one."""
    known = np.flatnonzero(np.isfinite(stands))
    before = np.searchsorted(known, np.arange(stands.size), side="right") - 1
    return replace(rule, values=rule.values[known[np.maximum(before, 0)]])


def _seen(edges: int) -> float:
    """How sure it is after so many moments at which delivered came to stand, or went on."""
    return float(min(_MOST, 1.0 - _BY_EDGE**edges))
