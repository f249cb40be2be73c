"""What a correction's conditions read, in the log's own names and units."""

from collections.abc import Iterator

from tuneledger.calibrations.model import Comparison, Correction
from tuneledger.explain.model import Point
from tuneledger.ledger.book import Book
from tuneledger.phrases import acting
from tuneledger.signals import SIGNALS
from tuneledger.units import conversion
from tuneledger.wording import share


def sum_comes_out(right: float) -> str:
    """How often nothing is left over where the cause acts."""
    if right >= 0.995:
        return "where it acts, the account balances in every sample"
    return f"where it acts, the account balances in {share(right)} of the samples"


def conditions_seen(correction: Correction, book: Book) -> Iterator[Point]:
    """One point per condition that compares a single reading of the log."""
    for condition in correction.when:
        if not isinstance(condition, Comparison) or condition.since is not None:
            continue
        name = condition.signal or condition.channel
        if name is None or condition.minus or condition.over or condition.rate:
            continue
        role = book.roles.get(name) if condition.signal else None
        channel = role.channel if role else book.log.find(name)
        if channel is None:
            continue
        bound = condition.below if condition.above is None else condition.above
        limit = _logged(condition, bound, book)
        yield Point("for", _held_while(condition), channel.name, limit)


def _logged(condition: Comparison, bound: float | None, book: Book) -> float | None:
    """A threshold as a number of the channel: the sheet may speak of another unit than the log."""
    if bound is None:
        return None
    if condition.signal is None:
        channel = book.log.find(condition.channel or "")
        unit = channel.unit if channel else ""
        turned = conversion(condition.unit, unit) if condition.unit and unit else None
        return bound if turned is None else turned[0] * bound + turned[1]
    role = book.roles.get(condition.signal)
    if role is None:
        return None
    own = SIGNALS[condition.signal].unit
    turned = conversion(condition.unit, own) if condition.unit and own else (1.0, 0.0)
    scale, offset = turned or (1.0, 0.0)
    return (scale * bound + offset - role.offset) / role.scale


def _held_while(terms: Comparison) -> str:
    """The condition under which it acts, in words."""
    return f"acts {acting([terms.given])}"
