"""Rules that act together, said as shortly as all of them together allow.

Found one after another, two rules that overlap come out as three: each stretch with an amount of
its own, told apart by conditions that only keep the others out. Without such a condition the
amounts of all are settled together, and what comes to nothing was never a rule.
"""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import combinations, product

import numpy as np

from tuneledger.arrays import FloatArray
from tuneledger.explain.rules.fitted import Fitted, active, aligned, cost_of, fitted, moved
from tuneledger.explain.rules.shape import Shape
from tuneledger.ledger.book import Book

# So many nats shorter, or the longer account stands.
_CLEARLY = 4.0
# Turns of fitting rules beside each other: judgement.
_MOST_TIMES = 4


def simplified(book: Book, left: FloatArray, rules: Sequence[Fitted]) -> list[Fitted]:
    """The rules with fewer conditions or fewer of them, if that says as much in less.

    left: degrees per row that all rules together account for, NaN where not judged
    """
    best = _one_curve(book, left, rules)
    length = together(book, left, best)
    for _ in range(_MOST_TIMES):
        tried = [fit for shorter in _shorter(best) if (fit := _settled(book, left, shorter))]
        lengths = [together(book, left, fit) for fit in tried]
        if not lengths or min(lengths) > length - _CLEARLY:
            break
        best, length = tried[int(np.argmin(lengths))], min(lengths)
    return best


def _one_curve(book: Book, left: FloatArray, rules: Sequence[Fitted]) -> list[Fitted]:
    """The rules with curves along one channel under the same conditions made one curve."""
    out: list[Fitted] = []
    for rule in rules:
        twin = next((one for one in out if _same_but_degrees(one, rule)), None)
        if twin is None or twin.shape is None or rule.shape is None:
            out.append(rule)
            continue
        others = [one for one in rules if one is not rule and not _same_but_degrees(one, rule)]
        rest = left - np.sum([one.values for one in others], axis=0) if others else left
        at = np.union1d(twin.shape.at, rule.shape.at)
        shape = Shape(rule.shape.column, at, twin.shape.at_points(at) + rule.shape.at_points(at))
        out[out.index(twin)] = fitted(book, rest, rule.terms, shape=shape)
    return out


def _same_but_degrees(one: Fitted, other: Fitted) -> bool:
    if one.shape is None or other.shape is None:
        return False
    same = one.shape.column.name == other.shape.column.name
    return same and {t.key() for t in one.terms} == {t.key() for t in other.terms}


def together(book: Book, left: FloatArray, rules: Sequence[Fitted]) -> float:
    """Nats of rules together and of what they leave."""
    total: FloatArray = np.sum([rule.values for rule in rules], axis=0)
    return cost_of(book, left, total) + sum(rule.price for rule in rules)


def _shorter(rules: Sequence[Fitted]) -> Iterator[list[Fitted]]:
    """The rules with one condition of one of them left out, or with an amount in place of a curve
    and perhaps a condition less as well."""
    once = list(_with_one_less(rules))
    yield from once
    # Two that cancel each other where both act look as if each kept the other out.
    for i, j in combinations(range(len(rules)), 2):
        less = [[r[k] for r in once if r[k] is not rules[k]] for k in (i, j)]
        for one, other in product(*less):
            yield [one if k == i else other if k == j else rule for k, rule in enumerate(rules)]
    for i, rule in enumerate(rules):
        if rule.shape is not None and rule.terms:
            flat = [*rules[:i], replace(rule, shape=None, level=0.0), *rules[i + 1 :]]
            yield flat
            yield from _with_one_less(flat)


def _with_one_less(rules: Sequence[Fitted]) -> Iterator[list[Fitted]]:
    """Each condition in turn is left out; every rule keeps at least one."""
    for i, rule in enumerate(rules):
        for term in rule.terms if _has_an_amount(rule) and len(rule.terms) > 1 else ():
            kept = tuple(other for other in rule.terms if other is not term)
            yield [*rules[:i], replace(rule, terms=kept), *rules[i + 1 :]]


def _has_an_amount(rule: Fitted) -> bool:
    return rule.level is not None and rule.ramp is None


def _settled(book: Book, left: FloatArray, rules: Sequence[Fitted]) -> list[Fitted] | None:
    """The rules with the amounts that suit them best together, without those that come to nothing;
    None where nothing tells their amounts apart."""
    free = [rule for rule in rules if _has_an_amount(rule)]
    fixed = [rule for rule in rules if not _has_an_amount(rule)]
    rest = left - np.sum([rule.values for rule in fixed], axis=0) if fixed else left
    known = np.flatnonzero(np.isfinite(rest))
    masks = np.array([_acts(rule, left.size) for rule in free])
    amounts = _amounts(masks[:, known], rest[known], book.tolerance)
    if amounts is None:
        return None
    real = [i for i, amount in enumerate(amounts) if abs(amount) > book.tolerance]
    posted = {i: amounts[i] * masks[i] for i in real}
    out = list(fixed)
    for i in real:
        others = [posted[k] for k in real if k != i]
        own = rest - np.sum(others, axis=0) if others else rest
        level = float(amounts[i])
        out.append(aligned(book, own, fitted(book, own, free[i].terms, level=level)))
    return out or None


def _acts(rule: Fitted, rows: int) -> FloatArray:
    """1 where a rule acts, as late as the log shows it, else 0."""
    return moved(active(rule.terms, rows).astype(np.float64), rule.late)


def _amounts(masks: FloatArray, rest: FloatArray, tolerance: float) -> FloatArray | None:
    """Least squares with rows that do not fit trusted less; rules × rows in, degrees out."""
    trust = np.ones(rest.size)
    amounts: FloatArray = np.zeros(len(masks))
    for _ in range(4):
        weighed = masks * trust
        normal = weighed @ masks.T
        if np.linalg.cond(normal) > 1e6:
            return None
        amounts = np.asarray(np.linalg.solve(normal, weighed @ rest), dtype=np.float64)
        miss = np.abs(rest - amounts @ masks)
        trust = 1.0 / np.maximum(1.0, miss / tolerance)
    return amounts
