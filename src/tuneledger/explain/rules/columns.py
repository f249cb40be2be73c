"""The channels that a rule may read, and how plausible each is as an input of an ECU's correction.

The clock, a counter and a position are poor inputs: they separate any two stretches of one run and
mean nothing on the next. A channel that a role names is a better one than a twin of it.
"""

from collections.abc import Callable, Iterator
from functools import cache
from weakref import WeakKeyDictionary

import numpy as np

from tuneledger.arrays import FloatArray, IntArray, each_once
from tuneledger.explain.doubt import LOOKED_AT, resolved
from tuneledger.ledger.book import Book
from tuneledger.logs.model import Channel
from tuneledger.logs.raster import held_raster
from tuneledger.logs.samples import at_samples
from tuneledger.record import record
from tuneledger.sidebyside import side_by_side
from tuneledger.units import parse_unit

# Nats: what it costs a rule to read such a channel, beside what every condition costs.
ROLE, SWITCH, OTHER, WARMING, ODD = 0.0, 0.5, 2.0, 1.5, 6.0

_MOST_LEVELS = 8  # more are no states but a number, judgement
# States are counted from zero or one, or are small numbers, as gears are: common practice, no
# source. A temperature that stood at 86 and 87 is none.
_FIRST_STATE, _LAST_STATE = (-1.0, 1.0), 20.0
_PHYSICAL = ("temperature", "pressure", "rotation", "speed", "voltage", "angle")
_COUNTED = ("time", "length", "volume", "mass")
_OUTPUTS = ("scheduled advance", "delivered advance", "time")


# Of a long log, stretches that tell what a channel is like: how many, and their rows.
_STRETCHES, _STRETCH_ROWS = 50, 50
# A channel that moves in fewer rows than this may be a slower one, each sample repeated.
_LIVELY = 0.34


@record(eq=False)
class Column:
    """One channel on the ledger's rows, or on some of them, in the log's own unit.

    levels: its distinct values where they are few and whole (a switch, a gear, a selector), else
            empty
    price:  nats for reading it
    finely: how finely the log has it, worked out when it is asked for
    """

    channel: Channel
    values: FloatArray
    levels: tuple[float, ...]
    price: float
    finely: Callable[[], float]

    @property
    def name(self) -> str:
        return self.channel.name

    @property
    def one_way(self) -> bool:
        """Whether it only rises or only falls all through the log, as what warms up does."""
        return self.price in (WARMING, WARMING + OTHER, ODD)

    @property
    def resolved(self) -> float:
        """How finely the log has it, see `doubt`."""
        return self.finely()


def columns(book: Book) -> Iterator[Column]:
    """Every channel with samples that is not itself an advance or the clock."""
    for channel in _readable(book):
        column = _on_all_rows(book, channel)
        if column is not None:
            yield column


def columns_at(book: Book, rows: IntArray) -> Iterator[Column]:
    """The same in some rows of a long log, of which no more is read than that takes."""
    if book not in _LOOKS:
        _LOOKS[book] = dict(_looks(book))
    looks = _LOOKS[book]
    here = book.log.some([channel for channel in looks if looks[channel].thin], rows)
    for channel, look in looks.items():
        values = here.get(channel)
        if values is None or not np.isfinite(values).all():
            values = _values(book, channel, look.levels)[rows]
        yield Column(channel, values, look.levels, look.price, look.finely)


def whole(book: Book, column: Column) -> Column:
    """A column of some rows on all of them."""
    values = _values(book, column.channel, column.levels)
    return Column(column.channel, values, column.levels, column.price, column.finely)


@record(eq=False)
class _Look:
    """What a channel of a long log is like. thin: it need not be read as a whole."""

    levels: tuple[float, ...]
    price: float
    finely: Callable[[], float]
    thin: bool


# What the channels of a log are like; forgotten as soon as nobody holds its book.
_LOOKS: WeakKeyDictionary[Book, dict[Channel, _Look]] = WeakKeyDictionary()


def _looks(book: Book) -> Iterator[tuple[Channel, _Look]]:
    """What each channel is like, by stretches of the log where they tell.

    A switch is looked at as a whole: a state may be seldom.
    """
    starts = np.linspace(0, book.times.size - _STRETCH_ROWS, _STRETCHES).astype(np.int64)
    rows = (starts[:, None] + np.arange(_STRETCH_ROWS)).ravel()
    alike = [c for c in _readable(book) if book.log.times(c) is book.inputs.times]
    found = book.log.some(alike, rows)
    few = {
        c: v
        for c, v in found.items()
        if np.isfinite(v).all() and _lively(v) and not _levels(book, c, v)
    }
    rest = [c for c in _readable(book) if c not in few]
    side_by_side(book.log.values, rest)
    for channel in _readable(book):
        if channel in few:
            price = _price(book, channel, few[channel], book.times[rows], ())
            yield channel, _Look((), price, _finely(book, channel), thin=True)
        elif (column := _on_all_rows(book, channel)) is not None:
            yield channel, _Look(column.levels, column.price, column.finely, thin=False)


def _lively(values: FloatArray) -> bool:
    """Whether a channel moves from row to row in the stretches: no slower one that is repeated."""
    return bool((np.diff(values.reshape(_STRETCHES, -1)) != 0).mean() >= _LIVELY)


def _finely(book: Book, channel: Channel) -> Callable[[], float]:
    # The log, and not the book, which would then be held for ever by what is known of it.
    log, rows = book.log, np.arange(min(LOOKED_AT, book.times.size), dtype=np.int64)
    return cache(lambda: resolved(log.some([channel], rows)[channel]))


def _on_all_rows(book: Book, channel: Channel) -> Column | None:
    values = book.inputs.channel(channel.name, None)
    if values is None or np.isfinite(values).sum() < 0.5 * values.size:
        return None
    levels = _levels(book, channel, values)
    price = _price(book, channel, values, book.times, levels)
    own = book.log.values(channel)
    if not levels:
        values, own = _repeats_joined(values, own)
    return Column(channel, values, levels, price, _finely_on_all_rows(own, values))


def _repeats_joined(values: FloatArray, own: FloatArray) -> tuple[FloatArray, FloatArray]:
    """A quantity that a faster log repeats until its next sample: the samples joined by straight
    lines, which is nearer to what the ECU had meanwhile; and the samples alone. Else as they are.
    """
    raster = held_raster(values)
    if raster.every == 1:
        return values, own
    samples = np.zeros(values.shape, dtype=np.bool_)
    samples[raster.phase :: raster.every] = True
    samples &= np.isfinite(values)
    joined = at_samples(values, samples)
    return np.where(np.isnan(joined), values, joined), values[samples]


def _finely_on_all_rows(own: FloatArray, values: FloatArray) -> Callable[[], float]:
    """How finely a channel is known; with fewer samples than the log has rows, as finely as those,
    and by half of what it usually moves from one to the next."""
    if own.size >= values.size and np.isfinite(own).all():
        return cache(lambda: resolved(values))
    known = own[np.isfinite(own)]

    def of_samples() -> float:
        moved = np.abs(np.diff(known))
        return resolved(known) + (0.5 * float(np.median(moved)) if moved.size else 0.0)

    return cache(of_samples)


def _readable(book: Book) -> Iterator[Channel]:
    outputs = {role.channel for signal in _OUTPUTS if (role := book.roles.get(signal)) is not None}
    return (c for c in book.log.channels if c not in outputs and c != book.log.time)


def _values(book: Book, channel: Channel, levels: tuple[float, ...]) -> FloatArray:
    values = book.inputs.channel(channel.name, None)
    assert values is not None  # it is one of the log's own
    return values if levels else _repeats_joined(values, values)[0]


def _levels(book: Book, channel: Channel, values: FloatArray) -> tuple[float, ...]:
    """The states of a switch or a selector; none where a quantity takes few values."""
    role, unit = book.roles.of(channel), parse_unit(channel.unit) if channel.unit else None
    if (role is not None and role.signal != "gear") or (unit and unit.kind in _PHYSICAL):
        return ()
    finite = values[np.isfinite(values)]
    few = each_once(finite[:: max(1, finite.size // 500)])
    if few.size > _MOST_LEVELS:
        return ()
    distinct = each_once(finite)
    whole = distinct.size <= _MOST_LEVELS and bool(np.all(distinct == np.round(distinct)))
    if not whole or not distinct.size or distinct[0] < _FIRST_STATE[0]:
        return ()
    states = distinct[0] <= _FIRST_STATE[1] or distinct[-1] <= _LAST_STATE
    return tuple(distinct.tolist()) if states else ()


def _price(
    book: Book,
    channel: Channel,
    values: FloatArray,
    times: FloatArray,
    levels: tuple[float, ...],
) -> float:
    if levels:
        return SWITCH
    named = book.roles.of(channel) is not None
    if _one_way(values):
        odd = not named and _counts(channel, values, times)
        return ODD if odd else WARMING + (0.0 if named else OTHER)
    return ROLE if named else OTHER


def _one_way(values: FloatArray) -> bool:
    """Only up or only down all through the log, in however few steps: it parts any two stretches
    of one run."""
    steps = np.diff(values[np.isfinite(values)])
    moving = steps[steps != 0]
    against = min(int((moving > 0).sum()), int((moving < 0).sum()))
    return bool(moving.size > 0 and against <= 0.01 * moving.size)


def _counts(channel: Channel, values: FloatArray, times: FloatArray) -> bool:
    """A clock, a counter, a distance or fuel used, and not something warm that gets warmer."""
    unit = parse_unit(channel.unit) if channel.unit else None
    if unit is not None and unit.kind in _PHYSICAL:
        return False
    known = np.isfinite(values)
    straight = float(np.corrcoef(values[known], times[known])[0, 1])
    return unit is None or unit.kind in _COUNTED or abs(straight) > 0.9999
