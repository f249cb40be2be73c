"""Numbers that a logger writes where it has none: ends of a scale, and what cannot be.

A sensor that is not there, a reply that did not come: many loggers write the lowest or the highest
number that the scale has. SAE J1979 fixes some of these scales: A/2 − 64 for the advance (−64° to
63.5°), A − 40 for temperatures (−40 to 215 °C), A for manifold pressure (0 to 255 kPa). Such a
number is taken as missing where it stands apart from all that the channel shows otherwise, so that
nothing in between was ever logged; a value that is reached step by step is one.
"""

import numpy as np

from tuneledger.arrays import BoolArray, FloatArray
from tuneledger.record import record
from tuneledger.roles.model import Role
from tuneledger.signals import SIGNALS
from tuneledger.wording import count, listing, quantity

_TEMPERATURES = tuple(name for name in SIGNALS if name.endswith("temperature"))
# Ends of the scales of SAE J1979, in the signal's own unit, that lie within what a signal can be.
_ENDS: dict[str, tuple[float, ...]] = {
    "scheduled advance": (-64.0, 63.5),
    "delivered advance": (-64.0, 63.5),
    "manifold absolute pressure": (255.0,),
    **dict.fromkeys(_TEMPERATURES, (-40.0,)),
}
# No engine is given such an advance: common practice, no source.
_CAN_BE: dict[str, tuple[float, float]] = {
    "scheduled advance": (-60.0, 80.0),
    "delivered advance": (-60.0, 80.0),
}
# Raw numbers of one and two bytes, full, in the usual scales; a channel without a signal has no
# other sign of being filled. 99.9 is one of an angle only: a pedal may well be at 99.9 %.
_RAW = frozenset({-64.0, 63.5, -40.0, 215.0, 255.0, 655.35, 6553.5, 16383.75, 32767.0, -32768.0,
                  65535.0, 999.9, 9999.0, -999.0, -9999.0})  # fmt: skip
_RAW_ANGLE = frozenset({99.9, -99.9})
# Under no label at all, a number that no advance can be, stands again and again, and is an end, may
# be one too; taken out of a channel that is none, it leaves its quantiles what they mostly were.
_NO_ADVANCE, _AGAIN = 80.0, 3
_MOST = 0.5  # of a run; more is no fill but the channel itself
_MOST_THIN = 0.35
_APART, _APART_RAW = 0.3, 1.0  # of the span of the rest
_FEWEST_OTHERS = 5


@record(eq=False)
class Fill:
    """Rows in which a channel says nothing: what stands there, in the signal's own unit."""

    rows: BoolArray
    values: tuple[float, ...]


def cleared(numbers: FloatArray, role: Role) -> tuple[FloatArray, Fill | None]:
    """A channel's numbers with NaN where its logger has filled, and where that was; those that went
    round are put right first."""
    if not numbers.size:
        return numbers, None
    if role.fold is not None:
        numbers = role.fold.unfolded(numbers)
    lowest, highest = numbers.min(), numbers.max()
    if np.isnan(lowest):
        lowest, highest = np.fmin.reduce(numbers), np.fmax.reduce(numbers)
    edges = (role.scale * lowest + role.offset, role.scale * highest + role.offset)
    low, high = can_be(role.signal)
    ends = _ENDS.get(role.signal, ())
    if not any(edge < low or edge > high or edge in ends for edge in edges):
        return numbers, None
    fill = find(role.read(numbers), role.signal)
    return (numbers, None) if fill is None else (np.where(fill.rows, np.nan, numbers), fill)


def find(values: FloatArray, signal: str) -> Fill | None:
    """The rows in which a signal's values are a logger's fill; None where there is none.

    values: in the signal's own unit, NaN where missing
    """
    low, high = can_be(signal)
    ends = _ENDS.get(signal, ())
    rows = (values < low) | (values > high)
    for end in ends:
        rows |= values == end
    rest = values[~rows & np.isfinite(values)]
    known = int(rows.sum()) + rest.size
    if not rest.size or rows.sum() > _MOST * known:
        return None
    room = _APART * float(np.ptp(rest))
    top = _edge(rest.max(), values[rows & (values > rest.max())], room)
    bottom = -_edge(-rest.min(), -values[rows & (values < rest.min())], room)
    apart = rows & ((values > top) | (values < bottom))
    if not apart.any() or np.unique(rest[:2000]).size < _FEWEST_OTHERS:
        return None
    return Fill(apart, tuple(float(v) for v in np.unique(values[apart])))


def _edge(top: float, above: FloatArray, room: float) -> float:
    """How far up the channel itself goes: to where nothing follows within so much room."""
    steps = np.concatenate(([top], np.unique(above)))
    far = np.flatnonzero(np.diff(steps) > room)
    return float(steps[far[0]] if far.size else steps[-1])


def can_be(signal: str) -> tuple[float, float]:
    """The least and the most that a signal can be, in its own unit."""
    own = SIGNALS[signal]
    return _CAN_BE.get(signal, (own.lowest, own.highest))


def stands_empty(value: float, signal: str) -> bool:
    """Whether a channel that never moves stands at an end of its scale: it carries nothing."""
    low, high = can_be(signal)
    return value < low or value > high or value in _ENDS.get(signal, ())


def note(name: str, fill: Fill, signal: str) -> str:
    """What is taken as missing, in words."""
    unit = SIGNALS[signal].unit
    shown = [quantity(v, unit) for v in fill.values[:3]]
    also = f" and {count(len(fill.values) - 3, 'more value')}" if len(fill.values) > 3 else ""
    lasts = count(int(fill.rows.sum()), "sample")
    return (
        f"{name} stands at {listing(shown)}{also} in {lasts}, apart "
        "from all the rest: taken for what a logger writes where it has nothing, and so as missing"
    )


def without_raw(own: FloatArray, *, angle: bool, bare: bool = False) -> FloatArray:
    """Sorted numbers of a thin sample without those that are a logger's fill.

    angle: the channel is labelled as one; bare: it has no label, and may be an angle
    """
    for end in (-1, 0):
        value = float(own[end])
        rest = own[own != value]
        again = abs(value) > _NO_ADVANCE and own.size - rest.size >= _AGAIN
        if not (
            value in _RAW
            or ((angle or bare) and value in _RAW_ANGLE)
            or ((angle or bare) and again)
        ):
            continue
        if rest.size < (1.0 - _MOST_THIN) * own.size or np.unique(rest).size < _FEWEST_OTHERS:
            continue
        nearest = rest[-1] if end == -1 else rest[0]
        if abs(value - nearest) > _APART_RAW * (rest[-1] - rest[0]):
            own = rest
    return own
