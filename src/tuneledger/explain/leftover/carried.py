"""A channel of the log that carries what is left over, under whatever name and in either sign."""

from collections.abc import Iterator, Sequence

import numpy as np

from tuneledger.arrays import BoolArray, FloatArray, each_once
from tuneledger.evaluate.model import Evidence
from tuneledger.explain.account import Account
from tuneledger.explain.leftover.model import Extra
from tuneledger.explain.model import Curve, Point, Rule
from tuneledger.explain.sheets import LaidSheet
from tuneledger.ledger.book import Book
from tuneledger.ledger.episodes import rows_of
from tuneledger.ledger.lag import shifted
from tuneledger.ledger.tolerance import local_change
from tuneledger.logs.model import Channel
from tuneledger.sidebyside import side_by_side
from tuneledger.units import parse_unit
from tuneledger.wording import quantity

# No single correction moves the advance further than this: common practice, no source.
_WIDEST_DEG = 45.0
_RIGHT_SHARE = 0.93
_SILENT_SHARE = 0.97


def find(book: Book, account: Account, laid: Sequence[LaidSheet]) -> tuple[Extra, ...]:
    """The channel that, added or taken as it stands, leaves next to nothing, if there is one."""
    busy = rows_of(account.runs, account.left.size) & np.isfinite(account.left)
    if busy.sum() < 3:
        return ()
    best: tuple[float, Channel, int, FloatArray] | None = None
    ways = [(sign, rows) for sign in (1, -1) for rows in {0.0, book.lag.rows}]
    for channel, numbers in carriers(book):
        for sign, rows in ways:
            values = sign * shifted(numbers, rows)
            score = _score(book, account, busy, values)
            if score is not None and (best is None or score > best[0]):
                best = (score, channel, sign, values)
    if best is None:
        return ()
    _, channel, sign, values = best
    return (_extra(book, busy, channel, sign, values),)


def carriers(book: Book) -> Iterator[tuple[Channel, FloatArray]]:
    """Channels in degrees, or without a unit, that could be a contribution."""
    found = [channel for channel in book.log.channels if _may_carry(book, channel)]
    side_by_side(book.log.values, found)
    for channel in found:
        numbers = book.inputs.channel(channel.name, "deg" if channel.unit else None)
        if numbers is not None:
            yield channel, numbers


def _may_carry(book: Book, channel: Channel) -> bool:
    unit = parse_unit(channel.unit) if channel.unit else None
    if book.roles.of(channel) is not None or (channel.unit and unit is None):
        return False
    if unit is not None and unit.kind != "angle":
        return False
    sample = book.log.sample(channel)
    sample = sample[np.isfinite(sample)]
    if sample.size < 2 or np.ptp(sample) == 0 or np.abs(sample).max() > _WIDEST_DEG:
        return False
    return unit is not None or not set(each_once(sample)) <= {0.0, 1.0}


def _score(book: Book, account: Account, busy: BoolArray, values: FloatArray) -> float | None:
    """Share of the busy rows that the channel settles, or None if it is not the one."""
    known = busy & np.isfinite(values)
    if known.sum() < 0.9 * busy.sum():
        return None
    # What hardly moves proves nothing: some channel always stands where a lasting difference does.
    moves = np.isfinite(account.left) & np.isfinite(values)
    if np.ptp(values[moves]) <= book.tolerance:
        return None
    bound = book.tolerance + book.slack + local_change(values, reach=2)
    settled = np.abs(account.left - values)[known] <= bound[known]
    quiet = np.isfinite(account.left) & ~busy & np.isfinite(values)
    silent = (np.abs(account.left - values)[quiet] <= bound[quiet]).mean() if quiet.any() else 1.0
    right = float(settled.mean())
    return right if right >= _RIGHT_SHARE and silent >= _SILENT_SHARE else None


def _extra(book: Book, busy: BoolArray, channel: Channel, sign: int, values: FloatArray) -> Extra:
    """A logged contribution as a rule: so many degrees along the channel that carries it."""
    low, high = float(np.nanmin(values)) * sign, float(np.nanmax(values)) * sign
    ends = sorted((low, high, 0.0))
    curve = Curve(channel.name, (ends[0], ends[-1]), (sign * ends[0], sign * ends[-1]))
    turned = "" if sign > 0 else ", with its sign turned round"
    return Extra(
        kind="hidden rule",
        rows=busy,
        certainty=0.95 if busy.sum() >= 10 else 0.85,
        entry="",
        values=values,
        evidence=Evidence.LOGGED,
        channel=channel.name,
        rule=Rule(along=curve),
        points=(
            Point(
                "for",
                f"{channel.name} carries exactly what is missing{turned}, up to "
                f"{quantity(float(values[busy][np.argmax(np.abs(values[busy]))]), 'deg')}",
                channel.name,
            ),
        ),
    )
