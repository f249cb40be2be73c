"""A small chart of two lines over one axis, as SVG that reads on light and dark paper."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from xml.sax.saxutils import escape

WIDTH, HEIGHT, LEFT, BOTTOM, TOP, RIGHT = 420, 260, 56, 44, 34, 96
BLUE, ORANGE = "#2b6cb0", "#c05621"

STYLE = """\
text { font: 12px sans-serif; fill: #222; } .title { font-weight: 600; }
.axis { stroke: #888; } .line { fill: none; stroke-width: 2; }
@media (prefers-color-scheme: dark) { text { fill: #ddd; } }"""


@dataclass(frozen=True, slots=True)
class Line:
    name: str
    values: Sequence[float]
    colour: str


@dataclass(frozen=True, slots=True)
class Chart:
    """x: what was varied; lines: one value per x, in `unit`."""

    title: str
    label: str
    unit: str
    x: Sequence[float]
    lines: Sequence[Line]


def charts(side_by_side: Sequence[Chart]) -> str:
    """Several charts in one SVG document."""
    parts = "\n".join(
        f'<g transform="translate({index * WIDTH} 0)">{_chart(chart)}</g>'
        for index, chart in enumerate(side_by_side)
    )
    width = WIDTH * len(side_by_side)
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width} {HEIGHT}" '
        f'role="img"><style>{STYLE}</style>\n{parts}\n</svg>\n'
    )


def _chart(chart: Chart) -> str:
    step = _round_step(max(max(line.values) for line in chart.lines))
    top_x, top_y = max(chart.x), 1.08 * max(max(line.values) for line in chart.lines)

    def place(x: float, y: float) -> tuple[float, float]:
        across = LEFT + (WIDTH - LEFT - RIGHT) * x / top_x
        return across, HEIGHT - BOTTOM - (HEIGHT - BOTTOM - TOP) * y / top_y

    out = [_text(LEFT, 20, chart.title, "title")]
    floor, right = HEIGHT - BOTTOM, WIDTH - RIGHT
    out.append(f'<path class="axis" fill="none" d="M{LEFT} {TOP} V{floor} H{right}"/>')
    ticks = chart.x if len(chart.x) < 4 else (chart.x[0], chart.x[len(chart.x) // 2], top_x)
    out += [_text(place(x, 0)[0], floor + 17, f"{x:,.0f}", anchor="middle") for x in ticks]
    out.append(_text((LEFT + right) / 2, HEIGHT - 6, chart.label, anchor="middle"))
    out += [
        _text(LEFT - 6, place(0, y)[1] + 4, f"{y:g} {chart.unit}", anchor="end")
        for y in (step * number for number in range(int(top_y / step) + 1))
    ]
    for line in chart.lines:
        points = [place(x, y) for x, y in zip(chart.x, line.values, strict=True)]
        path = " ".join(f"{x:.1f},{y:.1f}" for x, y in points)
        out.append(f'<polyline class="line" stroke="{line.colour}" points="{path}"/>')
        out += [
            f'<circle cx="{x:.1f}" cy="{y:.1f}" r="3" fill="{line.colour}"/>' for x, y in points
        ]
        out.append(_text(points[-1][0] + 8, points[-1][1] + 4, line.name))
    return "".join(out)


def _round_step(largest: float) -> float:
    """A step of 1, 2 or 5 times a power of ten that divides the range into three to seven."""
    power: float = 10.0 ** math.floor(math.log10(largest / 3))
    return max(power * factor for factor in (1, 2, 5) if power * factor <= largest / 3)


def _text(x: float, y: float, text: str, style: str = "", anchor: str = "start") -> str:
    kind = f' class="{style}"' if style else ""
    return f'<text x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}"{kind}>{escape(text)}</text>'
