"""Rules for what is left over: one after another, each paying for its own length."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from tuneledger.arrays import FloatArray
from tuneledger.explain.account import Account
from tuneledger.explain.cost import residual_cost
from tuneledger.explain.leftover.model import Extra
from tuneledger.explain.model import Point
from tuneledger.explain.rules.columns import Column, columns
from tuneledger.explain.rules.cover import covers
from tuneledger.explain.rules.curves import polished, shapes
from tuneledger.explain.rules.fitted import Fitted, Shape, active, cost_of, fitted
from tuneledger.explain.rules.pattern import Pattern, busy_pattern, levels
from tuneledger.explain.rules.refine import refined, with_release
from tuneledger.explain.rules.terms import Term, terms
from tuneledger.explain.sheets import LaidSheet
from tuneledger.ledger.book import Book
from tuneledger.ledger.episodes import merged, true_runs
from tuneledger.ledger.tolerance import local_change
from tuneledger.wording import condition

_MOST_RULES = 3
# Less than this is an edge of something else.
_LEAST_ROWS, _LEAST_S = 4, 0.2
_LEAST_GAIN = 14.0
_LEAST_SHARE = 0.5
_REFINED = 14
# Rules within so many nats of the best cannot be told from it by these logs.
_TIED = 5.0
_MOST_ALTERNATIVES = 12
_RELEASE_PRICE = 3.0
# Chance that a wrong condition changes sides at one edge of the rule all the same.
_BY_SWITCH, _BY_SLOPE, _BY_CURVE = 0.3, 0.45, 0.35
_CLOSER, _SETTLED_LEVEL, _SETTLED_CURVE = 0.85, 0.45, 0.8


@dataclass(frozen=True, eq=False)
class Found:
    """The best rule for what was left over, and those that do as well."""

    best: Fitted
    tied: tuple[Fitted, ...]
    before: float
    after: float


def find(book: Book, account: Account, laid: Sequence[LaidSheet]) -> tuple[Extra, ...]:
    """The rules that account for what is left over; none where no rule pays for itself."""
    if not account.runs:
        return ()
    found_columns = list(columns(book))
    left = account.left
    extras: list[Extra] = []
    for _ in range(_MOST_RULES):
        found = best_rule(book, left, found_columns)
        if found is None:
            break
        extras.append(_extra(book, left, found))
        left = left - found.best.values
    return tuple(extras)


def best_rule(book: Book, left: FloatArray, found_columns: Sequence[Column]) -> Found | None:
    """The rule that shortens the description most, if any does so by enough."""
    before = residual_cost(book, left, book.slack)
    if before < _LEAST_GAIN:
        return None
    tried = [f for f in candidates(book, left, found_columns) if _honest(book, left, f)]
    if not tried:
        return None
    tried.sort(key=lambda f: f.cost)
    best = _polished(book, left, tried[0])
    after = cost_of(book, left, best.values)
    if before - best.cost < max(_LEAST_GAIN, _LEAST_SHARE * (before - after)):
        return None
    tied = [f for f in tried[1:] if f.cost <= best.cost + _TIED]
    return Found(best, tuple(_unlike(best, tied)), before, after)


def _honest(book: Book, left: FloatArray, rule: Fitted) -> bool:
    """Whether a rule brings the balance closer wherever it acts, and settles much of it.

    A curve has many numbers to choose and has to settle nearly all; a level may leave open where
    a second rule acts as well.
    """
    acts = np.isfinite(left) & (np.abs(rule.values) > book.tolerance)
    if acts.sum() < max(_LEAST_ROWS, _LEAST_S / book.row_s if book.row_s > 0 else 0):
        return False
    rest = np.abs(left - rule.values)[acts]
    bound = (book.tolerance + book.slack + local_change(rule.values, reach=2))[acts]
    closer = float((rest < np.abs(left[acts])).mean())
    settled = float((rest <= bound).mean())
    return closer >= _CLOSER and settled >= (_SETTLED_CURVE if rule.shape else _SETTLED_LEVEL)


def _polished(book: Book, left: FloatArray, best: Fitted) -> Fitted:
    if best.shape is None:
        return best
    rows = active(best.terms, left.size)
    better = fitted(book, left, best.terms, shape=polished(best.shape, left, rows))
    return better if better.cost < best.cost else best


def candidates(book: Book, left: FloatArray, found_columns: Sequence[Column]) -> Iterator[Fitted]:
    """Rules of every kind that may account for what is left over."""
    for pattern in levels(book, left):
        yield fitted(book, left, (), level=pattern.level)
        yield from _with_conditions(book, left, pattern, found_columns)
    busy = busy_pattern(book, left)
    if busy is None:
        return
    everywhere = np.isfinite(left)
    for shape in shapes(book, left, everywhere, found_columns):
        yield fitted(book, left, (), shape=shape)
    acting = list(shapes(book, left, busy.acts, found_columns))[:3]
    if acting:
        for found in _chosen(book, busy, found_columns):
            for shape in acting:
                terms_, anchored = _anchored(refined(found, busy), shape)
                yield fitted(book, left, terms_, shape=anchored)


def _anchored(found: Sequence[Term], shape: Shape) -> tuple[tuple[Term, ...], Shape]:
    """A threshold on the curve's own channel becomes the point at which the curve is zero."""
    own = [t for t in found if t.column is shape.column and t.timer is None and t.side != 0]
    for term in own:
        beyond = shape.at > term.limit if term.side > 0 else shape.at < term.limit
        if beyond.any():
            at = np.append(shape.at[beyond], term.limit)
            deg = np.append(shape.deg[beyond], 0.0)
            order = np.argsort(at)
            shape = Shape(shape.column, at[order], deg[order])
    return tuple(t for t in found if t not in own), shape


def _with_conditions(
    book: Book, left: FloatArray, pattern: Pattern, found_columns: Sequence[Column]
) -> Iterator[Fitted]:
    for found in _chosen(book, pattern, found_columns):
        placed = refined(found, pattern)
        plain = fitted(book, left, placed, level=pattern.level)
        yield plain
        if plain.cost - plain.price < _RELEASE_PRICE:
            continue
        for which in range(len(placed)):
            released = with_release(placed, which, pattern)
            if released is not None:
                one = fitted(book, left, released, level=pattern.level)
                price = one.price + _RELEASE_PRICE
                yield replace(one, price=price, cost=one.cost + _RELEASE_PRICE)


def _chosen(
    book: Book, pattern: Pattern, found_columns: Sequence[Column]
) -> Iterator[tuple[Term, ...]]:
    """Sets of conditions for a pattern, cheapest first."""
    if not pattern.rests.any():
        return
    offered = [t for column in found_columns for t in terms(column, pattern, book.times)]
    per_row = 6.0 * min(1.0, book.row_s / 0.1)
    for cover in covers(offered, pattern, per_row=per_row)[:_REFINED]:
        yield cover.terms


def _unlike(best: Fitted, tied: Sequence[Fitted]) -> Iterator[Fitted]:
    """Each other set of channels once."""
    seen = {frozenset(best.channels())}
    for one in tied:
        key = frozenset(one.channels())
        if key not in seen:
            seen.add(key)
            yield one


def _extra(book: Book, left: FloatArray, found: Found) -> Extra:
    best = found.best
    rows = np.isfinite(left) & (np.abs(best.values) > book.tolerance)
    return Extra(
        kind="hidden rule",
        rows=rows,
        certainty=_certainty(book, left, found),
        price=best.price,
        entry="",
        values=best.values,
        leeway=_leeway(best),
        rule=best.rule(),
        alternatives=tuple(one.rule() for one in found.tied[:_MOST_ALTERNATIVES]),
        points=tuple(_points(best)),
    )


def _leeway(rule: Fitted) -> tuple[FloatArray, FloatArray]:
    """What the rule may post besides, downwards and upwards, at thresholds and along its curve."""
    might = np.where(np.abs(rule.values) > 0, -rule.values, rule.doubt)
    might = np.where(rule.doubt != 0, might, 0.0)
    along = rule.shape.resolution() if rule.shape else np.zeros(might.shape)
    return np.maximum(-might, 0.0) + along, np.maximum(might, 0.0) + along


def _certainty(book: Book, left: FloatArray, found: Found) -> float:
    """How likely the rule is to hold on the next log.

    What counts is the share of what was left over that it settles, at how many edges it was seen
    to start or stop (a switch that turns with each of them proves more than a slope that passes),
    and how many other rules would have done as well.
    """
    values = found.best.values
    busy = np.isfinite(left) & (np.abs(left) > book.tolerance + book.slack)
    doubt = np.abs(found.best.doubt)
    close = book.tolerance + book.slack + doubt + local_change(values, reach=2)
    settled = float((np.abs(left - values)[busy] <= close[busy]).mean())
    seen = 1.0 - _chance(book, left, found.best)
    rivals = sum(float(np.exp(found.best.cost - other.cost)) for other in found.tied)
    return round(float(np.clip(0.98 * settled * seen / (1.0 + 0.5 * rivals), 0.0, 0.97)), 2)


def _chance(book: Book, left: FloatArray, rule: Fitted) -> float:
    """How likely a wrong rule would have fitted all the same."""
    if rule.shape is not None:
        # A curve is tried anew each time its channel passes along it.
        number = rule.shape.column.values[np.isfinite(left)]
        number = number[np.isfinite(number)]
        span = float(np.ptp(number)) if number.size else 0.0
        passes = float(np.abs(np.diff(number)).sum()) / span if span > 0 else 0.0
        return float(_BY_CURVE ** (1.0 + min(passes, 5.0)))
    switched = any(term.side == 0 or term.timer for term in rule.terms)
    edges = max(1, _lasting_edges(book, rule.values))
    return float((_BY_SWITCH if switched else _BY_SLOPE) ** edges)


def _lasting_edges(book: Book, values: FloatArray) -> int:
    """How often the rule starts or stops within the log; flicker at a threshold does not count."""
    least = max(3.0, 0.2 / book.row_s) if book.row_s > 0 else 3.0
    runs = merged(true_runs(np.abs(values) > book.tolerance), book.times, book.row_s)
    lasting = [(a, b) for a, b in runs if b - a + 1 >= least]
    return sum((a > 0) + (b < values.size - 1) for a, b in lasting)


def _points(best: Fitted) -> Iterator[Point]:
    for term in best.terms:
        yield Point(
            "for",
            f"acts only while {condition(term.written(), term.column.channel.unit)}",
            term.column.name,
            term.limit if term.side else None,
        )
    if best.shape is not None:
        yield Point("for", f"follows {best.shape.column.name} as a curve", best.shape.column.name)
