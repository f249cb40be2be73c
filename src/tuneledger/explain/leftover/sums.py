"""What is left over as the sum of two or three channels, in any sign, scale and lag.

Channels are taken in one after another, the one that settles most first (forward selection with
least squares); each has to earn its place, a scale near one is one, and a channel that is only
scaled by chance is refused: a carrier rests at zero where nothing is left, and moves.
"""

from collections.abc import Sequence

import numpy as np

from tuneledger.arrays import BoolArray, FloatArray
from tuneledger.evaluate.model import Evidence
from tuneledger.explain.account import Account
from tuneledger.explain.leftover.carried import carriers
from tuneledger.explain.leftover.model import Extra
from tuneledger.explain.model import Curve, Point, Rule
from tuneledger.explain.sheets import LaidSheet
from tuneledger.ledger.book import Book
from tuneledger.ledger.episodes import rows_of
from tuneledger.ledger.lag import realigned
from tuneledger.ledger.tolerance import local_change
from tuneledger.logs.model import Channel
from tuneledger.record import record
from tuneledger.wording import degrees, number

# More channels that add up fit anything; fewer rows show nothing. Judgement.
_MOST = 3
_FEWEST_ROWS = 20
# Rows by which a channel may be logged late or early.
_LAGS = (0.0, 1.0, 2.0, 3.0, -1.0)
_EARNS = 0.6  # of the squares left before, a channel may leave at most this share
_RIGHT_SHARE, _SILENT_SHARE = 0.95, 0.97
_NEAR_ONE = 0.04
_SMALLEST, _LARGEST = 0.02, 50.0
_LEVELS = 4  # a scaled channel has at least so many; two levels with a scale are a switch
_PRICE = 6.0


@record(eq=False)
class _Term:
    """A channel with its lag taken out; `scale` degrees per unit of it."""

    channel: Channel
    values: FloatArray
    scale: float = 1.0


def find(book: Book, account: Account, laid: Sequence[LaidSheet]) -> tuple[Extra, ...]:
    """The channels that together carry what is left over, one posting each; none where one alone
    does, as it stands, or where the sum does not come out."""
    busy = rows_of(account.runs, account.left.size) & np.isfinite(account.left)
    if busy.sum() < _FEWEST_ROWS:
        return ()
    offered = [
        _Term(channel, realigned(numbers, rows, step=2.0 * book.tolerance))
        for channel, numbers in carriers(book)
        for rows in sorted({*_LAGS, book.lag.rows})
        if _rests(account.left, busy, numbers, book.tolerance)
    ]
    chosen = _chosen(account.left, busy, offered)
    if not chosen or not _comes_out(book, account, busy, chosen):
        return ()
    if len(chosen) == 1 and abs(chosen[0].scale) == 1.0:
        return ()  # `carried` says that more plainly
    return tuple(_extra(book, busy, term, len(chosen)) for term in chosen)


def _rests(left: FloatArray, busy: BoolArray, numbers: FloatArray, tolerance: float) -> bool:
    """Whether the channel stands at zero in nearly all rows in which nothing is left over."""
    quiet = np.isfinite(left) & ~busy & np.isfinite(numbers)
    if not quiet.any():
        return False
    largest = float(np.nanmax(np.abs(numbers), initial=0.0))
    still = np.abs(numbers[quiet]) <= max(0.02 * largest, 1e-9)
    return bool(still.mean() >= 0.9 or np.abs(numbers[quiet]).mean() <= 0.5 * tolerance)


def _chosen(left: FloatArray, busy: BoolArray, offered: Sequence[_Term]) -> list[_Term]:
    """The channels that earn their place, with the scales of the joint least squares."""
    terms: list[_Term] = []
    remaining = left
    for _ in range(_MOST):
        taken = {term.channel for term in terms}
        tried = [
            fit
            for one in offered
            if one.channel not in taken and (fit := _scaled(left, busy, [*terms, one])) is not None
        ]
        if not tried:
            break
        best = min(tried, key=lambda fit: _squares(left, busy, fit))
        before = float((remaining[busy] ** 2).sum())
        if before <= 0 or _squares(left, busy, best) > _EARNS * before:
            break
        terms = best
        remaining = np.where(busy, left - _sum(terms), 0.0)
    return terms


def _scaled(left: FloatArray, busy: BoolArray, terms: Sequence[_Term]) -> list[_Term] | None:
    """The terms with their scales; None where one of them has no plausible scale."""
    columns = np.stack([term.values for term in terms], axis=1)
    rows = busy & np.isfinite(columns).all(axis=1)
    if rows.sum() < max(_FEWEST_ROWS, 0.9 * busy.sum()):
        return None
    scales, _, rank, _ = np.linalg.lstsq(columns[rows], left[rows], rcond=None)
    if rank < len(terms):
        return None
    out = []
    for term, scale in zip(terms, scales.tolist(), strict=True):
        size = abs(scale)
        if abs(size - 1.0) <= _NEAR_ONE:
            size = 1.0
        elif not _SMALLEST <= size <= _LARGEST or _few_levels(term.values[rows]):
            return None
        out.append(_Term(term.channel, term.values, float(np.copysign(size, scale))))
    return out


def _few_levels(values: FloatArray) -> bool:
    return np.unique(np.round(values, 6)).size < _LEVELS


def _sum(terms: Sequence[_Term]) -> FloatArray:
    total: FloatArray = np.zeros(terms[0].values.shape)
    for term in terms:
        total = total + term.scale * term.values
    return total


def _squares(left: FloatArray, busy: BoolArray, terms: Sequence[_Term]) -> float:
    return float(np.nansum((left - _sum(terms))[busy] ** 2))


def _comes_out(book: Book, account: Account, busy: BoolArray, terms: Sequence[_Term]) -> bool:
    """Whether the sum settles what is left over, and is silent where nothing is."""
    total = _sum(terms)
    known = np.isfinite(total) & np.isfinite(account.left)
    bound = book.tolerance + book.slack + local_change(np.nan_to_num(total), reach=2)
    right = np.abs(account.left - total) <= bound
    inside, quiet = known & busy, known & ~busy
    if not inside.any() or not quiet.any():
        return False
    return bool(right[inside].mean() >= _RIGHT_SHARE and right[quiet].mean() >= _SILENT_SHARE)


def _extra(book: Book, busy: BoolArray, term: _Term, together: int) -> Extra:
    values = term.scale * term.values
    logged = term.values[np.isfinite(term.values)]
    low, high = min(float(logged.min()), 0.0), max(float(logged.max()), 0.0)
    scaled = "" if abs(term.scale) == 1.0 else f", {number(term.scale, 3)}° for each of its units"
    turned = ", with its sign turned round" if term.scale == -1.0 else ""
    acts = busy & (np.abs(np.nan_to_num(values)) > 0.5 * book.tolerance)
    widest = float(values[acts][np.argmax(np.abs(values[acts]))]) if acts.any() else 0.0
    share = "its share of" if together > 1 else "exactly"
    return Extra(
        kind="hidden rule",
        rows=acts,
        certainty=0.92 if abs(term.scale) == 1.0 else 0.85,
        price=_PRICE,
        entry="",
        values=np.nan_to_num(values),
        evidence=Evidence.LOGGED,
        channel=term.channel.name,
        rule=Rule(
            along=Curve(term.channel.name, (low, high), (term.scale * low, term.scale * high))
        ),
        points=(
            Point(
                "for",
                f"{term.channel.name} carries {share} what is missing{turned}{scaled}, up to "
                f"{degrees(widest)}",
                term.channel.name,
            ),
        ),
    )
