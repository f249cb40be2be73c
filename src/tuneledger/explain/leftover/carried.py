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
from tuneledger.ledger.lag import realigned
from tuneledger.ledger.tolerance import local_change
from tuneledger.logs.model import Channel
from tuneledger.sidebyside import side_by_side
from tuneledger.units import parse_unit
from tuneledger.wording import quantity

# No single correction moves the advance further than this: common practice, no source.
_WIDEST_DEG = 45.0
# Of the rows in which it acts so many come out, and of those in which it rests: edges may lie a row
# off. Judgement.
_RIGHT_SHARE = 0.93
_SILENT_SHARE = 0.97
_LEAST_ROWS = 3  # fewer are the noise of one sample
# Of a long log so many rows, of which so many tell, show already that a share is clearly missed.
_SOME, _TELLING, _CLEARLY = 4000, 200, 0.1
# Different numbers that a channel without a unit has to go through to follow a difference.
_FOLLOWS = 5


def find(book: Book, account: Account, laid: Sequence[LaidSheet]) -> tuple[Extra, ...]:
    """The channel that, added or taken as it stands, leaves next to nothing where it acts, if there
    is one; of several the one that settles most.

    What else is left over while it rests is another's work.
    """
    busy = rows_of(account.runs, account.left.size) & np.isfinite(account.left)
    if busy.sum() < _LEAST_ROWS:
        return ()
    best: tuple[int, Channel, int, FloatArray] | None = None
    ways = [(sign, rows) for sign in (1, -1) for rows in {0.0, book.lag.rows}]
    for channel, numbers in carriers(book):
        for sign, rows in ways:
            values = sign * realigned(numbers, rows, step=2.0 * book.tolerance)
            settled = _settled(book, account, busy, values)
            if settled > (best[0] if best else 0) and _can_tell(channel, busy, values, book):
                best = (settled, channel, sign, values)
    if best is None:
        return ()
    _, channel, sign, values = best
    return (_extra(busy & _acts(values, book), channel, sign, values),)


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


def _settled(book: Book, account: Account, busy: BoolArray, values: FloatArray) -> int:
    """How many busy rows the channel settles; 0 if it is not the one.

    Where it acts it has to come out right, and where nothing is left over it has to rest.
    """
    if _hopeless(book, account, busy, values):
        return 0
    # What hardly moves proves nothing: some channel always stands where a lasting difference does.
    known = np.isfinite(account.left) & np.isfinite(values)
    if not known.any() or np.ptp(values[known]) <= book.tolerance:
        return 0
    acting = busy & known & _acts(values, book)
    bound = book.tolerance + book.slack + local_change(values, reach=2)
    right = known & (np.abs(account.left - values) <= bound)
    quiet = known & ~busy
    if acting.sum() < _LEAST_ROWS or right[acting].mean() < _RIGHT_SHARE:
        return 0
    if quiet.any() and right[quiet].mean() < _SILENT_SHARE:
        return 0
    return int((acting & right).sum())


def _hopeless(book: Book, account: Account, busy: BoolArray, values: FloatArray) -> bool:
    """Whether some rows of a long log show already that a channel comes nowhere near."""
    if values.size < 4 * _SOME:
        return False
    rows = np.linspace(2, values.size - 3, _SOME).astype(np.int64)
    here, left = values[rows], account.left[rows]
    bound = book.tolerance + book.slack[rows]
    bound += np.nan_to_num(
        np.fmax.reduce([np.abs(values[rows + d] - here) for d in (-2, -1, 1, 2)])
    )
    known = np.isfinite(left) & np.isfinite(here)
    right = np.abs(left - here) <= bound
    acting, quiet = known & busy[rows] & _acts(here, book), known & ~busy[rows]
    return any(
        some.sum() >= _TELLING and right[some].mean() < share - _CLEARLY
        for some, share in ((acting, _RIGHT_SHARE), (quiet, _SILENT_SHARE))
    )


def _acts(values: FloatArray, book: Book) -> BoolArray:
    return np.asarray(np.nan_to_num(np.abs(values)) > book.tolerance)


def _can_tell(channel: Channel, busy: BoolArray, values: FloatArray, book: Book) -> bool:
    """Whether it is more than a number without a unit that happens to be as large for a part of
    the time: such a one has to follow what moves, or to account for all."""
    acting = busy & _acts(values, book)
    if channel.unit or acting.sum() >= _RIGHT_SHARE * busy.sum():
        return True
    return each_once(np.round(values[acting], 6)).size >= _FOLLOWS


def _extra(rows: BoolArray, channel: Channel, sign: int, values: FloatArray) -> Extra:
    """A channel that carries all that is missing where it acts."""
    turned = "" if sign > 0 else ", with its sign turned round"
    largest = float(values[rows][np.argmax(np.abs(values[rows]))])
    says = f"{channel.name} carries exactly what is missing{turned}, up to "
    says += quantity(largest, "deg")
    return as_logged(channel, sign, values, rows, 0.95 if rows.sum() >= 10 else 0.85, says)


def as_logged(
    channel: Channel, sign: int, values: FloatArray, rows: BoolArray, certainty: float, says: str
) -> Extra:
    """A logged contribution as a rule: so many degrees along the channel that carries it.

    values: what it posts, degrees per row; says: what speaks for it
    """
    low, high = float(np.nanmin(values)) * sign, float(np.nanmax(values)) * sign
    ends = sorted((low, high, 0.0))
    return Extra(
        kind="hidden rule",
        rows=rows,
        certainty=certainty,
        entry="",
        values=values,
        evidence=Evidence.LOGGED,
        channel=channel.name,
        rule=Rule(
            along=Curve(channel.name, (ends[0], ends[-1]), (sign * ends[0], sign * ends[-1]))
        ),
        points=(Point("for", says, channel.name),),
    )
