"""A rule with its degrees, carried out over the whole log and priced."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from tuneledger.arrays import BoolArray, FloatArray
from tuneledger.evaluate.memory import rate_limited
from tuneledger.explain.cost import residual_cost, row_share
from tuneledger.explain.doubt import near
from tuneledger.explain.model import Curve, Rule
from tuneledger.explain.rules.cover import PER_TERM
from tuneledger.explain.rules.ramps import Rates
from tuneledger.explain.rules.refine import roundest
from tuneledger.explain.rules.shape import Shape
from tuneledger.explain.rules.terms import Term
from tuneledger.ledger.book import Book
from tuneledger.ledger.tolerance import local_change
from tuneledger.logs.model import Channel
from tuneledger.record import record

PER_KNOT = 4.0  # nats of each point of a curve: judgement
_PER_FLIP = 1.0  # nats of each jump to and fro that what is left over does not have, judgement
_RAMP_PRICE = 4.0  # nats of a ramp, down and up: judgement
# What counts of a misfit that goes away if a doubtful threshold lies on the other side: judgement.
_DOUBTFUL = 0.2
# So far from on and from off a sample lies between the two, as a share of the amount: judgement.
_AMID = 0.25
# Rows by which a rule may be logged late, and what it costs to say so.
_LATE = (1, 2, 3, -1)
_LATE_PRICE = 4.0
# No log leaves an amount less open than this, in degrees: judgement.
_LEAST_OPEN_DEG = 0.02


@record(eq=False)
class Fitted:
    """Conditions, and what acts while all hold: a level, or a shape along a column.

    values: degrees per row; price: nats of the rule's own length; cost: and of what is left over
    doubt:  signed degrees per row that it may post or not, where a threshold cannot be told
    late:   rows by which the log shows its degrees later than what it reads
    """

    terms: tuple[Term, ...]
    level: float | None
    shape: Shape | None
    ramp: tuple[float, float] | None
    values: FloatArray
    doubt: FloatArray
    price: float
    cost: float
    late: int = 0

    def rule(self) -> Rule:
        """The rule in the contract's form."""
        ramp = None
        if self.ramp is not None:
            # Two figures, and at least a tenth: a ramp of 0 would never end.
            ramp = {
                way: max(round(rate, 1), float(f"{rate:.2g}"))
                for way, rate in zip(("down", "up"), self.ramp, strict=True)
            }
        along = None
        if self.shape is not None:
            along = Curve(
                self.shape.column.name,
                self.shape.told(),
                tuple(round(float(d), 2) for d in self.shape.deg),
            )
        return Rule(
            when=tuple(term.written() for term in self.terms),
            amount_deg=None if self.level is None else round(self.level, 2),
            along=along,
            ramp=ramp,
        )

    def rounding(self) -> FloatArray | None:
        """Degrees per row that the log's rounding of a curve's channel may be worth."""
        if self.shape is None:
            return None
        return moved(np.where(active(self.terms, self.values.size), self.shape.resolution(), 0.0),
                     self.late)  # fmt: skip

    def reads(self) -> tuple[Channel, ...]:
        """The channels that it reads."""
        read = [term.column.channel for term in self.terms]
        return (*read, self.shape.column.channel) if self.shape else tuple(read)


def active(terms: Sequence[Term], rows: int) -> BoolArray:
    """Where all conditions hold."""
    out = np.ones(rows, dtype=np.bool_)
    for term in terms:
        out &= term.holds
    return out


def fitted(
    book: Book,
    left: FloatArray,
    terms: Sequence[Term],
    *,
    level: float | None = None,
    shape: Shape | None = None,
    steady: Rates | None = None,
) -> Fitted:
    """Carry out the conditions with a level (fitted again to the rows they choose) or a shape.

    steady: rates at which a level comes and goes, where such are seen
    """
    on = active(terms, left.size)
    if shape is not None:
        values = np.where(on, np.nan_to_num(shape.values()), 0.0)
    else:
        here = left[on & np.isfinite(left)]
        near = here[np.abs(here - (level or 0.0)) <= 2 * book.tolerance]
        # Rounding is evened out by the mean: the advance moves through the steps.
        level = float(np.mean(near)) if near.size else level
        values = np.where(on, level or 0.0, 0.0)
    price = sum(PER_TERM + term.price for term in terms)
    if shape is not None:
        price += shape.column.price + PER_KNOT * shape.at.size
    doubt = np.where(_doubtful(terms, left.size), _full(level, shape, left.size), 0.0)
    plain = Fitted(tuple(terms), level, shape, None, values, doubt, price, 0.0)
    plain = replace(plain, cost=cost_of(book, left, values, plain.rounding(), doubt) + price)
    ramped = _ramped(book, left, plain, price, steady) if steady is not None else None
    return ramped if ramped is not None and ramped.cost < plain.cost else plain


def moved(values: FloatArray, rows: int) -> FloatArray:
    """Values read so many rows earlier, so that they stand later; the ends hold."""
    if rows == 0:
        return values
    at = np.clip(np.arange(values.size) - rows, 0, values.size - 1)
    return np.asarray(values[at])


def aligned(book: Book, left: FloatArray, rule: Fitted) -> Fitted:
    """The rule with its degrees some rows later or earlier, where the log shows them so.

    What a rule reads and what it does need not be logged at the same time. Where the advance
    itself moves too little to measure that, the rule's own edges tell it.
    """
    best = rule
    for rows in _LATE:
        values, doubt = moved(rule.values, rows), moved(rule.doubt, rows)
        trial = replace(rule, values=values, doubt=doubt, late=rows, price=rule.price + _LATE_PRICE)
        cost = cost_of(book, left, values, trial.rounding(), doubt) + trial.price
        if cost < best.cost:
            best = replace(trial, cost=cost)
    return best


def written(book: Book, left: FloatArray, rule: Fitted) -> Fitted:
    """The rule with its amount as a person would have written it, within what the log leaves
    open."""
    here = left[(np.abs(rule.values) > 0) & np.isfinite(left)]
    if rule.level is None or rule.ramp is not None or here.size < 2:
        return rule
    here = here[np.abs(here - rule.level) <= 2 * book.tolerance]
    told = max(here.size * row_share(book), 1.0)
    open_deg = max(_LEAST_OPEN_DEG, float(np.std(here)) / np.sqrt(told)) if here.size else 0.0
    level = roundest(rule.level - open_deg, rule.level + open_deg)
    share = level / rule.level if rule.level else 1.0
    return replace(rule, level=level, values=rule.values * share, doubt=rule.doubt * share)


def _full(level: float | None, shape: Shape | None, rows: int) -> FloatArray:
    """What the rule posts wherever it acts, regardless of its conditions."""
    return np.nan_to_num(shape.values()) if shape is not None else np.full(rows, level or 0.0)


def _doubtful(terms: Sequence[Term], rows: int) -> BoolArray:
    """Rows in which a threshold lies within what the log resolves of its channel."""
    out = np.zeros(rows, dtype=np.bool_)
    for term in terms:
        if term.side != 0 and term.timer is None and not term.column.levels:
            out |= near(term.number, (term.limit, term.release), term.column.resolved)
    # Where a channel hovers at its threshold, the rows beside a doubtful one are so too.
    beside = out.copy()
    beside[1:] |= out[:-1]
    beside[:-1] |= out[1:]
    return beside


def cost_of(
    book: Book,
    left: FloatArray,
    values: FloatArray,
    rounding: FloatArray | None = None,
    doubt: FloatArray | None = None,
) -> float:
    """Nats of what a posting leaves over, its own edges forgiven, its flicker not.

    rounding: degrees per row that the log's rounding of its input may be worth
    doubt:    degrees per row that it may post or not, where a threshold cannot be told
    """
    edges = book.slack + local_change(values)
    if rounding is not None:
        edges = edges + rounding
    judged = np.isfinite(left)
    # A jump before and after which the sum comes out is the noise of a channel, and no flicker.
    off = np.abs(left - values)[judged] > book.tolerance
    flips = (np.abs(np.diff(values[judged])) > book.tolerance) & (off[1:] | off[:-1])
    moves = np.abs(np.diff(left[judged])) > book.tolerance
    near = moves.copy()
    for shift in (1, 2, 3):
        near[shift:] |= moves[:-shift]
        near[:-shift] |= moves[shift:]
    idle = float((flips & ~near).sum())
    cost = residual_cost(book, left - values, edges) + _PER_FLIP * min(idle, 200.0)
    return cost if doubt is None else cost - _forgiven(book, left, values, edges, doubt)


def _forgiven(
    book: Book, left: FloatArray, values: FloatArray, edges: FloatArray, doubt: FloatArray
) -> float:
    """Nats of the rows that come out if a doubtful threshold lies on the other side of them.

    What else such a row leaves over, as the noise of the log, is not forgiven: a threshold about
    which a channel hovers for long would gain by it.
    """
    rows = doubt != 0
    if not rows.any():
        return 0.0
    here = np.where(rows, left, np.nan)
    other = np.where(np.abs(values) > 0, 0.0, doubt)
    nearest = np.where(np.abs(here - other) < np.abs(here - values), other, values)
    # A sample well between the two was caught while the rule turned.
    amid = np.abs(here - nearest) > np.maximum(_AMID * np.abs(doubt), 2.0 * book.tolerance)
    within = (np.minimum(values, other) < here) & (here < np.maximum(values, other))
    nearest = np.where(amid & within, here, nearest)
    as_posted, at_best = (residual_cost(book, here - v, edges) for v in (values, nearest))
    return (1.0 - _DOUBTFUL) * (as_posted - at_best)


def _ramped(
    book: Book, left: FloatArray, plain: Fitted, price: float, found: Rates
) -> Fitted | None:
    """The same rule with a ramp, as what is left over climbs and falls at a steady rate."""
    best: Fitted | None = None
    round_ones = tuple(roundest(0.88 * rate, 1.13 * rate) for rate in found)
    for down, up in dict.fromkeys((found, round_ones)):
        values = rate_limited(plain.values, book.times, down, up)
        cost = cost_of(book, left, values) + price + _RAMP_PRICE
        if best is None or cost < best.cost + 1e-9:
            best = replace(
                plain, values=values, ramp=(down, up), price=price + _RAMP_PRICE, cost=cost
            )
    return best
