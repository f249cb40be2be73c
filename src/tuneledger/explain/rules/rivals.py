"""Other rules that a log supports as well as the best one, and how much they matter.

A rival that reads a channel which moves with the best one's all through the log (the four wheels
and the vehicle's speed) will say the same on the next drive as well; one that reads a channel of
its own will not. What tells the two kinds apart is how much the channels' order differs, in the
share of the rows in which the rule's other conditions leave it to them, and at how many edges of
the rule both turned together all the same. Of two that only rise, as temperatures do while all
warms up, either may be meant, whichever fits better by a little.
"""

from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np

from tuneledger.arrays import BoolArray, FloatArray
from tuneledger.explain.rules.columns import Column
from tuneledger.explain.rules.cover import PER_TERM
from tuneledger.explain.rules.fitted import Fitted, active
from tuneledger.explain.rules.terms import STRAY, Term
from tuneledger.ledger.episodes import true_runs

# Rules within so many nats of the best cannot be told from it by these logs: of 34 made cases that
# allow several, the true rule lay within seven in 32, within five in 27.
TIED = 7.0
MOST = 12  # named with a rule: more only say again how open it is
_ROWS = 2000
# The share of the rows of another drive in which two rules are expected to differ: up to which they
# say the same, and from which on they do not. Of 74 rivals expected to differ in less than 0.02 of
# them, 71 predicted the other drive of a made case whose rule did; of 27 in 0.02 to 0.06, 16.
_SAME, _OTHER = 0.01, 0.07
# Two channels differ as their ranks do, as if that had been seen at so many edges, until their own
# edges tell more; more than so many add nothing, since a drive repeats itself. By the same cases.
_AS_IF_SEEN, _MOST_EDGES, _LEAST_ROWS = 4.0, 8, 3
# So much of the difference in their fit counts between two channels that only rise, since a curve
# along one can be drawn along the other: judgement, checked on made cases.
_OF_THE_FIT = 0.25
# A longer rule is never as likely as the one that it only adds to.
_LEAST_LONGER = 2.0
# What is finer than this share of a channel's span says nothing about its order.
_GRAIN = 0.02
# The same channels with another timer or release: mostly, but not always, the same rule.
_OTHER_FORM = 0.3


def tied(best: Fitted, others: Sequence[Fitted]) -> list[Fitted]:
    """Each other set of channels once, cheapest first, twins of one before it last."""
    seen = {_key(best)}
    fresh: list[Fitted] = []
    twins: list[Fitted] = []
    for one in sorted(others, key=lambda f: f.cost):
        if one.cost > best.cost + TIED or _key(one) in seen:
            continue
        seen.add(_key(one))
        alike = any(apart(shown, one) == 0.0 for shown in (best, *fresh))
        (twins if alike else fresh).append(one)
    return [*fresh, *twins]


def _key(rule: Fitted) -> tuple[object, ...]:
    return (frozenset(term.key() for term in rule.terms), rule.shape and rule.shape.column.name)


def share_of_right(best: Fitted, others: Sequence[Fitted]) -> float:
    """How likely the best rule is to be right on another drive, if it or one of the others is."""
    odds = np.array([np.exp(min(_by_fit(best, other), 0.0)) for other in others])
    alike = np.array([1.0 - apart(best, other) for other in others])
    return float((1.0 + (odds * alike).sum()) / (1.0 + odds.sum()))


def apart(one: Fitted, other: Fitted) -> float:
    """From 0 (they will say the same on any drive) to 1 (nothing speaks for that)."""
    mine, theirs = _readings(one), _readings(other)
    only_mine = [column for key, column in mine.items() if key not in theirs]
    only_theirs = [column for key, column in theirs.items() if key not in mine]
    if not only_mine and not only_theirs:
        return _OTHER_FORM
    if len(only_mine) != 1 or len(only_theirs) != 1:
        return 1.0
    if any(len(column.levels) == 2 for column in (only_mine[0], only_theirs[0])):
        return 1.0  # two switches thrown together in one run need not be so in the next
    if only_mine[0].one_way and only_theirs[0].one_way:
        return 1.0  # what only rises ranks like anything else that does
    ranks = rank_difference(*(_coarse(c) for c in (only_mine[0], only_theirs[0])))
    return float(np.clip((_expected(one, other, ranks) - _SAME) / (_OTHER - _SAME), 0.0, 1.0))


def _expected(one: Fitted, other: Fitted, ranks: float) -> float:
    """The share of another drive's rows in which a rule and one that reads another channel in one
    place are expected to differ. ranks: by how much the ranks of the two channels do."""
    if one.shape is not None or other.shape is not None:
        return ranks
    read = {(term.column.name, term.timer) for term in other.terms}
    kept = [term for term in one.terms if (term.column.name, term.timer) in read]
    rows = one.values.size
    acts = active(one.terms, rows)
    here = float((acts != active(other.terms, rows)).mean())
    told = max(_edges(acts) - _placed(other, one), 0)
    differ = (told * here + _AS_IF_SEEN * ranks) / (told + _AS_IF_SEEN)
    return float(active(kept, rows).mean()) * differ


def _edges(acts: BoolArray) -> int:
    """At how many edges within the log a rule was seen to turn, up to as many as tell more."""
    runs = [(a, b) for a, b in true_runs(acts) if b - a + 1 >= _LEAST_ROWS]
    return min(sum((a > 0) + (b < acts.size - 1) for a, b in runs), _MOST_EDGES)


def _placed(rule: Fitted, beside: Fitted) -> int:
    """How many numbers of a rule were placed so that it turns with another one."""
    read = {(term.column.name, term.timer) for term in beside.terms}
    own = [term for term in rule.terms if (term.column.name, term.timer) not in read]
    return sum(1 + (term.release is not None) + (term.timer is not None) for term in own)


def _by_fit(best: Fitted, other: Fitted) -> float:
    """Nats by which the best rule's fit makes it likelier, negative.

    Along two channels that only rise, one in place of the other, most of it is chance.
    """
    mine, theirs = _readings(best), _readings(other)
    swapped = [mine[key] for key in mine.keys() - theirs.keys()]
    instead = [theirs[key] for key in theirs.keys() - mine.keys()]
    behind, dearer = best.cost - other.cost, best.price - other.price
    if len(swapped) == len(instead) == 1 and swapped[0].one_way and instead[0].one_way:
        return _OF_THE_FIT * (behind - dearer) + dearer
    return behind


def _readings(rule: Fitted) -> dict[tuple[str, str | None], Column]:
    """What a rule reads: the channel, and in which way."""
    out: dict[tuple[str, str | None], Column] = {
        (term.column.name, term.timer): term.column for term in rule.terms
    }
    if rule.shape is not None:
        out[rule.shape.column.name, "along"] = rule.shape.column
    return out


def _coarse(column: Column) -> FloatArray:
    """The channel's numbers without what its noise or its step puts into an order of its own."""
    known = column.values[np.isfinite(column.values)]
    grain = max(2.0 * column.resolved, _GRAIN * float(np.ptp(known)) if known.size else 0.0)
    return np.round(column.values / grain) * grain if grain > 0 else column.values


def rank_difference(one: FloatArray, other: FloatArray) -> float:
    """Mean difference of two channels' ranks, 0 to 1, whichever way round fits better.

    It is the share of rows in which a threshold on one and its counterpart on the other would
    disagree, averaged over all thresholds (Spearman's footrule).
    """
    known = np.flatnonzero(np.isfinite(one) & np.isfinite(other))
    if known.size < 10:
        return 1.0
    rows = known[np.linspace(0, known.size - 1, min(known.size, _ROWS)).astype(np.int64)]
    a, b = _ranks(one[rows]), _ranks(other[rows])
    return float(min(np.abs(a - b).mean(), np.abs(a - (1.0 - b)).mean()))


def _ranks(values: FloatArray) -> FloatArray:
    ordered = np.sort(values)
    below = np.searchsorted(ordered, values, side="left")
    up_to = np.searchsorted(ordered, values, side="right")
    out: FloatArray = (below + up_to) / (2.0 * values.size)
    return out


def narrower(best: Fitted, left: FloatArray, switches: Sequence[Column]) -> Iterator[Fitted]:
    """The best rule with one more switch, where the log never shows whether it needs it.

    A switch that stood one way whenever the rule acted, and the other way for long at other times,
    may be a part of it. How much speaks for that is the chance that it stood so by accident, each
    stretch in which it stood so being one throw.
    """
    acts = np.isfinite(left) & (np.abs(best.values) > 0)
    read = {term.column.name for term in best.terms}
    if len(best.terms) > 2 or not acts.any():
        return
    for column in switches:
        if column.name in read:
            continue
        state, counts = np.unique(column.values[acts], return_counts=True)
        which = float(state[counts.argmax()])
        on = column.values == which
        if on[acts].mean() < 1.0 - STRAY or not 0.0 < on.mean() < 1.0:
            continue
        said = throws(on, acts) * float(-np.log(on.mean()))
        price = PER_TERM + column.price - said
        term = Term(column, column.values, 0, which, column.price)
        cost, price = best.cost + max(price, _LEAST_LONGER), best.price + price
        yield replace(best, terms=(*best.terms, term), price=price, cost=cost)


def throws(on: BoolArray, acts: BoolArray) -> int:
    """In how many separate stretches of a state something acts."""
    return sum(bool(acts[first : last + 1].any()) for first, last in true_runs(on))
