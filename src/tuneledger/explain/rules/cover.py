"""The fewest conditions that together exclude every row in which nothing acts.

Each condition holds wherever something acts; which resting rows it lets through is a bit pattern.
Sets of one, two and three conditions are searched whole by matrix products over a thin set of rows.
"""

from collections.abc import Sequence

import numpy as np

from tuneledger.arrays import BoolArray, FloatArray, IntArray, each_once
from tuneledger.explain.rules.pattern import Pattern
from tuneledger.explain.rules.terms import Term
from tuneledger.record import record

# Nats of a condition: which channel, which side. Judgement.
PER_TERM = 7.0
# Bounds on the search, rows and covers: more only take time. Judgement.
_MOST_RESTING = 3000
_MOST_PAIRS = 60
_KEPT = 40


@record(eq=False)
class Cover:
    """A set of conditions; `cost` in nats: what it lets through and misses, and its own length."""

    terms: tuple[Term, ...]
    cost: float


def covers(
    found: Sequence[Term], pattern: Pattern, *, per_row: float, worth: FloatArray | None = None
) -> list[Cover]:
    """The cheapest sets of one to three conditions, cheapest first.

    per_row: nats that one row on the wrong side costs
    worth:   how many rows each row stands for; 1 where None
    """
    if not found:
        return []
    acts, rests = np.flatnonzero(pattern.acts), np.flatnonzero(pattern.rests)
    chosen = _thinned(rests, pattern.edges, _MOST_RESTING)
    worth = np.ones(pattern.acts.size) if worth is None else worth
    share = float(worth[chosen].sum())
    weight = per_row * worth[chosen] * (float(worth[rests].sum()) / share if share else 1.0)
    passing = np.array([term.holds[chosen] for term in found], dtype=np.float32)
    missed = np.array([(~term.holds[acts] * worth[acts]).sum() for term in found]) * per_row
    price = np.array([term.price for term in found]) + PER_TERM
    weighed = (passing * weight).astype(np.float32)
    single = weighed.sum(axis=1) + missed + price
    out = [Cover((found[i],), float(single[i])) for i in np.argsort(single)[:_KEPT]]

    pair = passing @ weighed.T + missed[:, None] + missed[None, :]
    pair += price[:, None] + price[None, :]
    # Two conditions on one channel make a window; with a time, one of them is the other again.
    clash = _clashes(found)
    pair[np.tril_indices(len(found))] = np.inf
    pair[clash] = np.inf
    first, second = np.unravel_index(_least(pair.ravel(), _MOST_PAIRS), pair.shape)
    for a, b in zip(first[:_KEPT].tolist(), second[:_KEPT].tolist(), strict=True):
        out.append(Cover((found[a], found[b]), float(pair[a, b])))

    triple = (passing[first] * weighed[second]) @ passing.T + missed + price
    triple += (missed[first] + missed[second] + price[first] + price[second])[:, None]
    triple[clash[first] | clash[second]] = np.inf
    which = np.arange(first.size)
    triple[which, first] = triple[which, second] = np.inf
    third = triple.argmin(axis=1)
    for n in np.flatnonzero(np.isfinite(triple[which, third])):
        chosen_terms = (found[first[n]], found[second[n]], found[third[n]])
        out.append(Cover(chosen_terms, float(triple[n, third[n]])))
    return _distinct(sorted(out, key=lambda c: c.cost))[:_KEPT]


def _least(costs: FloatArray, most: int) -> IntArray:
    """The places of the least finite costs, rising; of equal ones the first come first."""
    bar = np.partition(costs, most)[most] if costs.size > most else np.inf
    places = np.flatnonzero(np.isfinite(costs) & (costs <= bar))
    return places[np.argsort(costs[places], kind="stable")][:most].astype(np.int64)


def _clashes(found: Sequence[Term]) -> BoolArray:
    # Numbers for names: an array of names takes room for the longest in every place.
    numbers: dict[str, int] = {}
    names = np.array([numbers.setdefault(t.column.name, len(numbers)) for t in found])
    timed = np.array([term.timer is not None for term in found])
    return np.asarray((names[:, None] == names[None, :]) & (timed[:, None] | timed[None, :]))


def _thinned(rows: IntArray, edges: IntArray, most: int) -> IntArray:
    """At most so many rows: all near an edge, and the rest evenly."""
    if rows.size <= most:
        return rows
    near: BoolArray = np.zeros(int(rows.max()) + 1, dtype=np.bool_)
    for shift in range(-12, 13):
        at = edges + shift
        near[at[(at >= 0) & (at < near.size)]] = True
    close = rows[near[rows]]
    spread = rows[np.linspace(0, rows.size - 1, most).astype(np.int64)]
    return each_once(np.concatenate((close[: most // 2], spread)))


def _distinct(sets: Sequence[Cover]) -> list[Cover]:
    """Each set of conditions once, and no set that only adds to a cheaper one within it."""
    seen: set[frozenset[object]] = set()
    out = []
    for cover in sets:
        key = frozenset(term.key() for term in cover.terms)
        if key in seen or any(smaller < key for smaller in seen):
            continue
        seen.add(key)
        out.append(cover)
    return out
