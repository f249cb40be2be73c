"""Figures for pages that run nothing: one frame of SVG with two axes, lines, points and a band."""

import math
from collections.abc import Iterable, Sequence
from itertools import pairwise

import numpy as np

from tuneledger.arrays import FloatArray, IntArray
from tuneledger.pages.tag import Markup, join, tag
from tuneledger.record import record
from tuneledger.wording import number

_LEFT, _RIGHT, _TOP, _BOTTOM = 52, 10, 10, 34
_STEPS = (1.0, 2.0, 2.5, 5.0, 10.0)
_TICK = 18  # pixels from one number to the next at y, at least
_MOST_POINTS = 1200  # of a line: two for each cell of the screen


@record
class Frame:
    """A frame of `width` × `height` pixels over x and y; `across` and `up` name its axes.

    right, bottom: pixels left free there; foot: whether it says the numbers of its x
    steps:         the numbers that stand at y, where round ones would say less
    """

    x: tuple[float, float]
    y: tuple[float, float]
    across: str
    up: str
    width: int = 800
    height: int = 300
    right: int = _RIGHT
    bottom: int = _BOTTOM
    foot: bool = True
    steps: tuple[float, ...] = ()

    def at(self, x: float, y: float) -> tuple[float, float]:
        """Where a point lies in the drawing."""
        inner = self.width - _LEFT - self.right, self.height - _TOP - self.bottom
        return (
            _LEFT + inner[0] * (x - self.x[0]) / (self.x[1] - self.x[0]),
            _TOP + inner[1] * (self.y[1] - y) / (self.y[1] - self.y[0]),
        )

    def drawn(self, title: str, *parts: Markup, height: str | None = None) -> Markup:
        """The whole figure; `title` says in words what it shows. `height`: where it must say it."""
        return tag(
            "svg",
            tag("title", title),
            *self._grid(),
            *parts,
            viewBox=f"0 0 {self.width} {self.height}",
            role="img",
            height=height,
        )

    def _grid(self) -> Iterable[Markup]:
        right, bottom = self.width - self.right, self.height - self.bottom
        room = max(2, (bottom - _TOP) // _TICK)
        for value in self.steps or ticks(*self.y, most=min(8, room)):
            _, y = self.at(self.x[0], value)
            cls = "zero" if value == 0 else "grid"
            yield _line(_LEFT, y, right, y, cls)
            yield _text(_LEFT - 6, y + 4, number(value), "end")
        for value in ticks(*self.x):
            x, _ = self.at(value, self.y[0])
            yield _line(x, _TOP, x, bottom, "grid")
            if self.foot:
                yield _text(x, bottom + 15, number(value), "middle")
        if self.across:
            yield _text(right, self.height - 4, self.across, "end", "soft")
        if self.up:
            yield _text(4, _TOP + 2, self.up, "start", "soft")

    def path(self, x: FloatArray, y: FloatArray, cls: str, *, steps: bool = False) -> Markup:
        """A line through points, broken where one is not known; thinned to what can be seen.

        steps: each value holds until the next
        """
        keep = _thinned(y)
        parts, pen = [], "M"
        for px, py in zip(x[keep], y[keep], strict=True):
            if not math.isfinite(py):
                pen = "M"
                continue
            left, top = self.at(float(px), float(py))
            held = f"H{left:.1f}" if steps and pen == "L" else ""
            parts.append(f"{held}{pen}{left:.1f} {top:.1f}")
            pen = "L"
        return tag("path", d="".join(parts), cls=cls)

    def dots(self, x: FloatArray, y: FloatArray, cls: str, radius: float = 4.0) -> Markup:
        places = (self.at(float(px), float(py)) for px, py in zip(x, y, strict=True))
        circles = (
            tag("circle", cx=f"{left:.1f}", cy=f"{top:.1f}", r=f"{radius:g}", cls=cls)
            for left, top in places
        )
        return join(*circles)

    def band(self, x: FloatArray, low: FloatArray, high: FloatArray) -> Markup:
        corners = [self.at(float(px), float(py)) for px, py in zip(x, high, strict=True)]
        corners += [
            self.at(float(px), float(py)) for px, py in zip(x[::-1], low[::-1], strict=True)
        ]
        return tag("polygon", points=" ".join(f"{a:.1f},{b:.1f}" for a, b in corners), cls="band")


def span(values: Sequence[FloatArray], margin: float = 0.06) -> tuple[float, float]:
    """Lowest and highest of all that is known, with some air; never of no width."""
    every = np.concatenate([v[np.isfinite(v)] for v in values])
    if not every.size:
        return 0.0, 1.0
    low, high = float(every.min()), float(every.max())
    air = max((high - low) * margin, 0.5)
    return low - air, high + air


def ticks(low: float, high: float, most: int = 8) -> list[float]:
    """Round numbers within a span, at most so many."""
    raw = (high - low) / most
    decade = 10.0 ** math.floor(math.log10(raw))
    step = next(s * decade for s in _STEPS if s * decade >= raw)
    first, last = math.ceil(low / step), math.floor(high / step)
    return [i * step + 0.0 for i in range(first, last + 1)]


def _thinned(y: FloatArray) -> IntArray:
    """The first, lowest and highest row of each of a few hundred pieces: no spike is lost."""
    if y.size <= _MOST_POINTS:
        return np.arange(y.size)
    edges = np.linspace(0, y.size, _MOST_POINTS // 3 + 1).astype(np.int64)
    kept = []
    for start, end in pairwise(edges):
        piece = y[start:end]
        known = np.nan_to_num(piece, nan=0.0)
        kept += [start, start + int(known.argmin()), start + int(known.argmax())]
    return np.unique(np.array(kept, dtype=np.int64))


def _line(*ends: float | str) -> Markup:
    x1, y1, x2, y2, cls = ends
    shown = (f"{v:.1f}" if isinstance(v, float) else f"{v}" for v in (x1, y1, x2, y2))
    a, b, c, d = shown
    return tag("line", x1=a, y1=b, x2=c, y2=d, cls=str(cls))


def _text(x: float, y: float, text: str, anchor: str, cls: str | None = None) -> Markup:
    return tag("text", text, x=f"{x:.1f}", y=f"{y:.1f}", text_anchor=anchor, cls=cls)
