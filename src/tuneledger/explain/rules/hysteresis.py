"""One channel that starts a rule at one number and stops it at another, far from the first.

Between the two it acts or rests by what came before, so that no plain threshold holds wherever it
acts and excludes much: it is looked for at the rule's own edges instead.
"""

from collections.abc import Iterator, Sequence

import numpy as np

from tuneledger.explain.rules.columns import Column
from tuneledger.explain.rules.pattern import Pattern
from tuneledger.explain.rules.refine import with_release
from tuneledger.explain.rules.terms import PLACED_PRICE, STRAY, Term

# With fewer edges nearly every channel has passed some number at each of them.
_LEAST_EDGES = 4
# So many of the starts, and of the stops, may be out of the way.
_FEW = 0.25
# So many of the rows in which nothing acts may be within, as the edges' own rows may.
_LET_THROUGH = 0.1


def held_terms(found: Sequence[Column], pattern: Pattern, release_price: float) -> Iterator[Term]:
    """The conditions with a release that hold where something acts, and mostly not elsewhere.

    release_price: nats that a release costs
    """
    starts, stops = pattern.starts, pattern.stops
    if min(starts[0].size, stops[0].size) == 0 or starts[0].size + stops[0].size < _LEAST_EDGES:
        return
    able = [column for column in found if not column.levels]
    if not able:
        return
    rows = np.concatenate((starts[1], stops[0]))
    at = np.array([column.values[rows] for column in able])
    for side in (1, -1):
        first, last = np.split(side * at, [starts[1].size], axis=1)
        # In nearly all starts it stood further out than in nearly all stops.
        apart = np.quantile(first, _FEW, axis=1) > np.quantile(last, 1.0 - _FEW, axis=1)
        for i in np.flatnonzero(apart):
            term = _held(able[i], side, pattern, release_price)
            if term is not None:
                yield term


def _held(column: Column, side: int, pattern: Pattern, release_price: float) -> Term | None:
    price = column.price + PLACED_PRICE + release_price
    placed = with_release([Term(column, column.values, side, 0.0, price)], 0, pattern)
    if placed is None:
        return None
    (term,) = placed
    holds = term.holds
    misses = float((~holds[pattern.acts]).mean())
    lets = float(holds[pattern.rests].mean())
    return term if misses <= STRAY and lets <= _LET_THROUGH else None
