"""What a hysteresis can remember: every joint state that some drive can leave behind."""

from collections.abc import Sequence
from math import isfinite

from tuneledger.calibrations.model import Comparison


def states(known: Sequence[Comparison], span: tuple[float, float]) -> list[tuple[bool, ...]]:
    """Every joint state of some hystereses of one reading that a drive can leave behind.

    known: comparisons with a `release`; span: what the reading can be, in its own unit
    It starts with none of them true; the reading may then jump anywhere within its span.
    """
    marks = sorted({v for c in known for v in (c.above, c.below, c.release) if v is not None})
    places: list[tuple[float, int]] = [(mark, side) for mark in marks for side in (-1, 0, 1)]
    low, high = span
    inside = [(v, s) for v, s in places if _within(v, s, low, high)]
    if not inside:
        inside = (
            [(low if isfinite(low) else high, 0)] if isfinite(low) or isfinite(high) else [(0.0, 0)]
        )
    jumps = {tuple(_done(c, place) for c in known) for place in inside}
    found = [tuple(False for _ in known)]
    for state in found:
        for jump in sorted(jumps, key=str):
            new = tuple(
                was if done is None else done for done, was in zip(jump, state, strict=True)
            )
            if new not in found:
                found.append(new)
    return found


def _within(value: float, side: int, low: float, high: float) -> bool:
    above_low = value > low or (value == low and side >= 0)
    below_high = value < high or (value == high and side <= 0)
    return above_low and below_high


def _done(c: Comparison, place: tuple[float, int]) -> bool | None:
    """What a reading at a place does to a hysteresis: on, off, or nothing."""
    assert c.release is not None
    if c.above is not None:
        return True if place > (c.above, 0) else False if place < (c.release, 0) else None
    assert c.below is not None
    return True if place < (c.below, 0) else False if place > (c.release, 0) else None
