"""A limit on how fast delivered may move: rows in which it was on its way accuse nobody.

They are set aside before anything is looked for, and what they leave over is posted at the end as
what it is: delivered, still behind what was asked for.
"""

from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np

from tuneledger.arrays import FloatArray
from tuneledger.evaluate.model import Evidence
from tuneledger.explain.finding import Finding
from tuneledger.explain.leftover.model import Extra
from tuneledger.explain.model import RATE, Point
from tuneledger.explain.opened import OpenedBook
from tuneledger.explain.sheetsums import sums
from tuneledger.ledger.episodes import true_runs
from tuneledger.ledger.model import Entry
from tuneledger.ledger.ratelimit import RateLimit, find_rate_limit
from tuneledger.logs.steps import quantisation_step
from tuneledger.wording import listing, number, share

# With a smaller share of rows that hold a sample, moves are the logger's.
_EVERY_ROW = 0.95
# So sure where delivered was left behind often; by chance it is so a few times: judgement.
_SURE, _OFTEN = 0.95, 4.0


def with_rate_limits(opened: Sequence[OpenedBook]) -> list[OpenedBook]:
    """The books, with the rows set aside in which delivered moved as fast as it may."""
    return [_limited(one) for one in opened]


def _limited(one: OpenedBook) -> OpenedBook:
    book = one.book
    if book.own.mean() < _EVERY_ROW or book.smoothing is not None:
        return one
    off = np.abs(book.delivered - book.start) > book.tolerance + book.slack
    if not (off & book.judged).any():
        return one
    step = max(quantisation_step(x) or 0.0 for x in (book.delivered, book.start))
    limit = find_rate_limit(book.delivered, _asked(one), book.lag, step, book.row_s)
    if limit is None:
        return one
    way = limit.on_its_way(book.delivered, book.row_s, step)
    if book.lag.rows != round(book.lag.rows):  # read between two samples, one of them on its way
        way = np.where(way == 0.0, np.append(way[1:], 0.0), way)
    arrived = way == 0.0
    own, judged = book.own & arrived, book.judged & arrived
    return replace(one, book=replace(book, own=own, judged=judged, on_its_way=way, rate=limit))


def _asked(one: OpenedBook) -> Iterator[FloatArray]:
    """What delivered may follow: what it starts from, then what each sheet makes of that."""
    yield one.book.start
    yield from sums(one.book, one.laid)


def arrived(findings: Sequence[Finding]) -> list[Finding]:
    """The findings, what was left over on the way posted as that."""
    return [_posted(one) if one.book.on_its_way is not None else one for one in findings]


def _posted(finding: Finding) -> Finding:
    book = finding.book
    assert book.on_its_way is not None and book.rate is not None  # noqa: PT018
    sampled = np.isfinite(book.delivered) & np.isfinite(book.start)
    whole = replace(
        book, own=np.isfinite(book.delivered), judged=sampled & ~book.regimes.void, on_its_way=None
    )
    ledger = replace(finding.ledger, own=whole.own)
    entries = [np.nan_to_num(entry.values) for entry in ledger.entries]
    rest = ledger.difference - sum(entries, np.zeros(book.times.shape))
    # Rising it may be below what was asked for, falling above it; never the other way round.
    behind = np.where(book.on_its_way * rest < 0.0, rest, 0.0)
    values = np.where(whole.judged, behind, 0.0)
    if not (np.abs(values) > book.tolerance + book.slack).any():
        return replace(finding, book=whole, ledger=ledger)
    way = book.on_its_way != 0.0
    beyond = np.abs(values) > book.tolerance
    times = sum(bool(beyond[first : last + 1].any()) for first, last in true_runs(way))
    extra = _extra(book.rate, values, float(way[whole.judged].mean()), times)
    return replace(
        finding,
        book=whole,
        ledger=replace(ledger, entries=(*ledger.entries, Entry(RATE, values, extra.evidence))),
        extras=(*finding.extras, extra),
    )


def _extra(limit: RateLimit, values: FloatArray, way: float, times: int) -> Extra:
    """way: the share of the samples in which it moves so; times: how often it was left behind."""
    return Extra(
        kind="limit",
        rows=values != 0.0,
        certainty=round(_SURE * (1.0 - float(np.exp(-times / _OFTEN))), 2),
        entry=RATE,
        values=values,
        evidence=Evidence.INFERRED,
        points=(
            Point("for", f"in {share(way)} of the samples it moves just as fast, and never faster"),
        ),
        name=f"delivered moves by at most {in_words(limit)}",
    )


def in_words(limit: RateLimit) -> str:
    """`30°/s`, or `30°/s up and 60°/s down`."""
    up, down = (number(x, 2) for x in (limit.up, limit.down))
    if up == down:
        return f"{up}°/s"
    ways = ((limit.up, f"{up}°/s up"), (limit.down, f"{down}°/s down"))
    return listing([text for most, text in ways if np.isfinite(most)])
