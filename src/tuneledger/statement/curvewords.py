"""A curve in words: its ends, and the points between at which it bends."""

from collections.abc import Iterator, Sequence
from itertools import groupby

from tuneledger.explain.model import Curve
from tuneledger.wording import degree_span, degrees, listing, number, quantity

# A point this near to the straight line between those that are told is no bend of its own; what the
# tolerance of a log leaves open at the least.
_BEND_DEG = 0.3


def curve_in_words(curve: Curve, unit: str) -> str:
    """`−6.0° to 0.0° as Air goes from 20 to 80 °C`, with the bends between that its ends hide:
    `0.0° to −6.0° as Air goes from 20 to 80 °C, by way of 0.0° at 55 °C`."""
    what = (
        f"{degree_span(curve.deg[0], curve.deg[-1])} as {curve.channel} goes from "
        f"{number(curve.at[0])} to {quantity(curve.at[-1], unit)}"
    )
    bends = [_told(group, unit) for group in _level(curve, _bends(curve.at, curve.deg))]
    return f"{what}, by way of {listing(bends)}" if bends else what


def _bends(at: Sequence[float], deg: Sequence[float]) -> list[int]:
    """The inner points without which straight lines would miss the curve (Douglas and Peucker)."""
    if len(at) < 3:
        return []
    slope = (deg[-1] - deg[0]) / (at[-1] - at[0])
    off = [abs(y - deg[0] - slope * (x - at[0])) for x, y in zip(at, deg, strict=True)]
    far = max(range(1, len(at) - 1), key=off.__getitem__)
    if off[far] < _BEND_DEG:
        return []
    after = [far + more for more in _bends(at[far:], deg[far:])]
    return [*_bends(at[: far + 1], deg[: far + 1]), far, *after]


def _level(curve: Curve, bends: Sequence[int]) -> Iterator[list[tuple[float, float]]]:
    """The bends, those beside each other that read alike together."""
    points = [(curve.at[i], curve.deg[i]) for i in bends]
    for _, group in groupby(points, key=lambda point: degrees(point[1])):
        yield list(group)


def _told(group: Sequence[tuple[float, float]], unit: str) -> str:
    """`+5.0° at 27 °C`, `+5.0° from 20 to 40 °C`."""
    (first, deg), (last, _) = group[0], group[-1]
    if first == last:
        return f"{degrees(deg)} at {quantity(first, unit)}"
    return f"{degrees(deg)} from {number(first)} to {quantity(last, unit)}"
