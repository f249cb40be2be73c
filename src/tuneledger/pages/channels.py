"""Which channels of a log a page carries, and how each is drawn."""

import numpy as np

from tuneledger.arrays import FloatArray
from tuneledger.logs.model import Channel
from tuneledger.pages.names import name_of
from tuneledger.pages.pack import Packer
from tuneledger.pages.shape import ChannelData, ScaleData
from tuneledger.statement.model import LogAccount
from tuneledger.units import parse_unit

TURNED = ("pressure", "temperature")
MOST = 24  # channels of one log in a page, beside its ledger
LOAD = ("manifold absolute pressure", "engine load")
FOOT = ("throttle position", "accelerator position")
SPARE_SAMPLES = 1_100_000  # beyond what is needed, a page carries no more than this in all
UNASKED = ("time", "scheduled advance", "delivered advance")  # the first strip shows these
_LEVELS, _REACH = 16, 40  # a channel of so few whole numbers is a switch, a gear or a state


def context(books: LogAccount) -> list[Channel]:
    """Speed, load and throttle; and the advances themselves where there is no ledger."""
    choices: list[tuple[str, ...]] = [("engine speed",), LOAD, FOOT]
    if books.ledger is None:
        choices = [("scheduled advance",), ("delivered advance",), *choices]
    found = (_first(books, names) for names in choices)
    return [channel for channel in found if channel is not None]


def _first(books: LogAccount, signals: tuple[str, ...]) -> Channel | None:
    roles = (books.roles.get(signal) for signal in signals)
    return next((role.channel for role in roles if role is not None), None)


def wanted(books: LogAccount, proving: list[Channel]) -> list[Channel]:
    """The channels that a page carries, each once, at most `MOST`.

    Context, what proves the causes, what carries logged entries; and as far as they are not too
    many samples what plays a role, and then any other.
    """
    entries = books.ledger.entries if books.ledger else ()
    carrying = (books.log.find(e.channel) for e in entries if e.channel)
    needed = [*context(books), *proving, *(c for c in carrying if c is not None)]
    kept = list(dict.fromkeys(needed))[:MOST]
    room = min(MOST, SPARE_SAMPLES // max(books.log.samples, 1))
    playing = [r.channel for s, r in books.roles.by_signal.items() if s not in UNASKED]
    spare = (c for c in dict.fromkeys([*playing, *books.log.channels]) if c not in kept)
    others = [c for c in spare if c != books.log.time]
    return kept + others[: max(0, room - len(kept))]


def channel_data(channel: Channel, books: LogAccount, base: int, packer: Packer) -> ChannelData:
    """One channel, packed to the last digit that its file has."""
    values = books.log.values(channel)
    role = books.roles.of(channel)
    times = books.log.times(channel)
    return ChannelData(
        name=name_of(channel.name),
        unit=name_of(channel.unit),
        scale=scale(role.unit if role else channel.unit),
        signal=role.signal if role else "",
        base=base,
        gap_s=gap(times[np.isfinite(values)]),
        step=holds(channel, books),
        values=packer.add(values),
    )


def holds(channel: Channel, books: LogAccount) -> bool:
    """Whether a channel holds its value between samples, as a switch or a slow one does."""
    role = books.roles.of(channel)
    return bool(role and role.held) or _few_levels(books.log.values(channel))


def scale(unit: str) -> ScaleData | None:
    """How to turn a unit into another of its kind, for the kinds that a reader may choose."""
    found = parse_unit(unit)
    if found is None or found.kind not in TURNED:
        return None
    return ScaleData(
        kind=found.kind, factor=found.factor, offset=found.offset, gauge=found.gauge is True
    )


def gap(times: FloatArray) -> float:
    """Seconds between samples from which on there is a hole, not just a slow raster."""
    steps = np.diff(times)
    steps = steps[steps > 0]
    if not steps.size:
        return 0.0
    usual, slow = np.quantile(steps, [0.5, 0.9])
    return float(max(3.0 * usual, 1.5 * slow))


def _few_levels(values: FloatArray) -> bool:
    thin = values[:: max(1, values.size // 500)]
    for part in (thin, values):  # the thin look is cheap and nearly always enough
        known = part[np.isfinite(part)]
        if known.size == 0 or np.ptp(known) > _REACH or np.any(known != np.rint(known)):
            return False
    levels = np.bincount((known - known.min()).astype(np.int64))
    return int(np.count_nonzero(levels)) <= _LEVELS
