"""A threshold that a rule may have besides, where the log never shows whether it does.

A channel that stood beyond some number whenever the rule acted, and for most of the time did not,
may be a part of it: a guard that waits for warm oil is seen with warm oil only. Little speaks for
any of them; they are told as possible and make nothing less sure.
"""

from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np

from tuneledger.arrays import BoolArray, FloatArray
from tuneledger.explain.rules.columns import ODD, Column
from tuneledger.explain.rules.cover import PER_TERM
from tuneledger.explain.rules.fitted import Fitted
from tuneledger.explain.rules.refine import roundest
from tuneledger.explain.rules.rivals import throws
from tuneledger.explain.rules.terms import PLACED_PRICE, Term

# It has to keep out this share of the rows at least in which the rule does not act.
_KEPT_OUT = 0.25
_MOST_TERMS = 2


def bounded(best: Fitted, left: FloatArray, found_columns: Sequence[Column]) -> Iterator[Fitted]:
    """The best rule with one threshold more, those that keep out most first.

    left: degrees per row that it accounts for, NaN where not judged
    """
    acts = np.isfinite(left) & (np.abs(best.values) > 0)
    read = {term.column.name for term in best.terms}
    read |= {best.shape.column.name} if best.shape is not None else set()
    if len(best.terms) > _MOST_TERMS or not acts.any() or acts.all():
        return
    found = [
        (said - term.price, term)
        for column in found_columns
        if column.name not in read and column.price < ODD and not 0 < len(column.levels) <= 2
        for term, said in _beyond(column, acts)
    ]
    for said, term in sorted(found, key=lambda one: -one[0]):
        price = PER_TERM + term.price
        cost = best.cost + max(PER_TERM - said, 0.0)
        yield replace(best, terms=(*best.terms, term), price=best.price + price, cost=cost)


def _beyond(column: Column, acts: BoolArray) -> Iterator[tuple[Term, float]]:
    """The threshold from either side that holds wherever the rule acts, and what speaks for it:
    the chance that it did so by accident, each stretch in which it held being one throw."""
    here, elsewhere = column.values[acts], column.values[~acts]
    if not np.isfinite(here).all() or not np.isfinite(elsewhere).any():
        return
    for side in (1, -1):
        edge = float((side * here).min())
        beyond = side * elsewhere[np.isfinite(elsewhere)]
        under = beyond[beyond < edge]
        if under.size < _KEPT_OUT * beyond.size:
            continue
        limit = roundest(*sorted((side * float(under.max()), side * edge)))
        on = side * column.values > side * limit
        said = throws(on, acts) * float(-np.log(max(on.mean(), 1e-6)))
        price = column.price + PLACED_PRICE
        yield Term(column, column.values, side, limit, price), said
