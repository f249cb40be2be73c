"""Calibrations drawn from a seed: every kind of axis, one to three of them, any numbers and orders.

Each comes as description, image and mapping, with a second working of what every table says at any
point: place by place through whatever leads to it. Nothing here knows the reader.
"""

import random
import struct
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

from tests.calibrations.asam.making import Memory, project

BASE = 0x4000
CODES = {"UBYTE": "B", "UWORD": "H", "SWORD": "h", "ULONG": "I", "FLOAT32_IEEE": "f"}
READS = (  # a sheet's signal, its unit, and the range of its points
    ("engine speed", "rpm", 500, 7000),
    ("manifold absolute pressure", "kPa", 20, 250),
    ("throttle position", "%", 0, 100),
)
Place = Callable[[float], float]


@dataclass
class Varied:
    """A calibration in the making. `at` maps a table's name to what it says at a point."""

    seed: int
    chance: random.Random
    order: str
    blocks: list[str] = field(default_factory=list)
    memory: dict[int, bytes] = field(default_factory=dict)
    address: int = BASE
    at: dict[str, Callable[[Sequence[float]], float]] = field(default_factory=dict)
    axes: dict[str, list[tuple[str, str, float, float]]] = field(default_factory=dict)

    @property
    def description(self) -> str:
        mark = "MSB_FIRST" if self.order == ">" else "MSB_LAST"
        common = f'/begin MOD_COMMON "" BYTE_ORDER {mark} /end MOD_COMMON'
        return project("\n    ".join(self.blocks), common)

    @property
    def bytes(self) -> Memory:
        return self.memory

    def put(self, kind: str, numbers: Sequence[float], *, follow: bool = False) -> int:
        """Numbers at the next address that their size divides; the address."""
        size = struct.calcsize(CODES[kind])
        if not follow:
            self.address += self.chance.choice((0, 3, 8))
        self.address += -self.address % size
        at = self.address
        self.memory[at] = struct.pack(f"{self.order}{len(numbers)}{CODES[kind]}", *numbers)
        self.address += size * len(numbers)
        return at

    def name(self, stem: str) -> str:
        return f"{stem}_{len(self.blocks)}"


def varied(seed: int) -> Varied:
    """A calibration with a table of each number of axes, each axis of a kind drawn at random."""
    chance = random.Random(f"varied {seed}")
    made = Varied(seed, chance, chance.choice("<>"))
    for dimensions in (1, 2, 3):
        _table(made, dimensions)
    return made


def _table(made: Varied, dimensions: int) -> None:
    chance = made.chance
    reads = chance.sample(READS, dimensions)
    sizes = [chance.randint(2, 4) for _ in reads]
    told, ways = [], []
    for (_, unit, low, high), size in zip(reads, sizes, strict=True):
        kind = chance.choice((_common, _fixed, _through_curve, _through_pairs))
        text, way = kind(made, unit, low, high, size)
        told.append(text)
        ways.append(way)
    cells = 1
    for size in sizes:
        cells *= size
    stored = [chance.randint(0, 200) for _ in range(cells)]
    rows = chance.random() < 0.5
    number = chance.choice(("UBYTE", "UWORD", "FLOAT32_IEEE"))
    layout, method, name = made.name("L"), made.name("M"), f"TABLE_{dimensions}"
    direction = "ROW_DIR" if rows else "COLUMN_DIR"
    address = made.put(number, stored)
    made.blocks += [
        f"/begin RECORD_LAYOUT {layout} FNC_VALUES 1 {number} {direction} DIRECT "
        "/end RECORD_LAYOUT",
        f'/begin COMPU_METHOD {method} "" LINEAR "%4.1" "deg" COEFFS_LINEAR 0.25 -10 '
        "/end COMPU_METHOD",
        f'/begin CHARACTERISTIC {name} "" {("CURVE", "MAP", "CUBOID")[dimensions - 1]} '
        f"0x{address:X} {layout} 0 {method} -10 40 {' '.join(told)} /end CHARACTERISTIC",
    ]
    made.axes[name] = list(reads)
    made.at[name] = lambda point: (
        0.25
        * _between(stored, sizes, [way(x) for way, x in zip(ways, point, strict=True)], rows=rows)
        - 10
    )


def _between(
    stored: Sequence[float], sizes: Sequence[int], places: Sequence[float], *, rows: bool
) -> float:
    """The cell at a place, each corner weighted by how near it is."""
    found = 0.0
    corners: list[tuple[list[int], float]] = [([], 1.0)]
    for place, size in zip(places, sizes, strict=True):
        at = min(max(place, 0.0), size - 1.0)
        low = min(int(at), size - 2) if size > 1 else 0
        grown = []
        for index, weight in corners:
            grown.append(([*index, low], weight * (1 - (at - low))))
            grown.append(([*index, low + 1], weight * (at - low)))
        corners = grown
    for index, weight in corners:
        found += weight * stored[_offset(index, sizes, rows=rows)] if weight else 0.0
    return found


def _offset(index: Sequence[int], sizes: Sequence[int], *, rows: bool) -> int:
    """Which of the stored numbers it is: maps along z, in them rows or columns."""
    x, y, z = [*index, 0, 0][:3]
    nx, ny = [*sizes, 1, 1][:2]
    within = (y * nx + x if rows else x * ny + y) if len(index) > 1 else x
    return z * nx * ny + within


def _points(made: Varied, low: float, high: float, size: int) -> list[int]:
    return sorted(made.chance.sample(range(int(low), int(high)), size))


def _line(points: Sequence[float], places: Sequence[float]) -> Place:
    """A broken line, held beyond its ends, step by step."""

    def way(x: float) -> float:
        if x <= points[0]:
            return places[0]
        for k in range(1, len(points)):
            if x <= points[k]:
                share = (x - points[k - 1]) / (points[k] - points[k - 1])
                return places[k - 1] + share * (places[k] - places[k - 1])
        return places[-1]

    return way


def _common(made: Varied, unit: str, low: float, high: float, size: int) -> tuple[str, Place]:
    points = _points(made, low, high, size)
    layout, name, method = made.name("LA"), made.name("AXIS"), _unit(made, unit)
    address = made.put("UWORD", points)
    made.blocks += [
        f"/begin RECORD_LAYOUT {layout} AXIS_PTS_X 1 UWORD INDEX_INCR DIRECT /end RECORD_LAYOUT",
        f'/begin AXIS_PTS {name} "" 0x{address:X} q {layout} 0 {method} {size} 0 65535 '
        "/end AXIS_PTS",
    ]
    return _axis("COM_AXIS", method, size, f"AXIS_PTS_REF {name}"), _line(points, range(size))


def _fixed(made: Varied, unit: str, low: float, high: float, size: int) -> tuple[str, Place]:
    step = made.chance.randint(1, int((high - low) / size))
    points = [low + step * k for k in range(size)]
    told = f"FIX_AXIS_PAR_DIST {low} {step} {size}"
    return _axis("FIX_AXIS", _unit(made, unit), size, told), _line(points, range(size))


def _through_curve(
    made: Varied, unit: str, low: float, high: float, size: int
) -> tuple[str, Place]:
    count = made.chance.randint(2, 5)
    points = _points(made, low, high, count)
    places = sorted(made.chance.randint(0, 4 * size) for _ in points)
    places[0], places[-1] = 0, max(places[-1], 4)  # in quarters, so that some place is reached
    layout, name = made.name("LC"), made.name("NORM")
    quarters, method = made.name("Q"), _unit(made, unit)
    address = made.put("UWORD", points)
    made.put("UWORD", places, follow=True)
    made.blocks += [
        f"/begin RECORD_LAYOUT {layout} AXIS_PTS_X 1 UWORD INDEX_INCR DIRECT "
        "FNC_VALUES 2 UWORD COLUMN_DIR DIRECT /end RECORD_LAYOUT",
        f'/begin COMPU_METHOD {quarters} "" RAT_FUNC "%4.2" "" COEFFS 0 4 0 0 0 1 '
        "/end COMPU_METHOD",
        f'/begin CHARACTERISTIC {name} "" CURVE 0x{address:X} {layout} 0 {quarters} 0 99 '
        f"{_axis('STD_AXIS', method, count, '')} /end CHARACTERISTIC",
    ]
    told = _axis("CURVE_AXIS", "NO_COMPU_METHOD", size, f"CURVE_AXIS_REF {name}")
    return told, _line(points, [place / 4 for place in places])


def _through_pairs(
    made: Varied, unit: str, low: float, high: float, size: int
) -> tuple[str, Place]:
    count = made.chance.randint(2, 4)
    points = _points(made, low, high, count)
    virtual = sorted(made.chance.sample(range(30000), count))
    layout, name, method = made.name("LR"), made.name("RESCALE"), _unit(made, unit)
    address = made.put("UWORD", [count])
    made.put("UWORD", [n for pair in zip(points, virtual, strict=True) for n in pair], follow=True)
    made.blocks += [
        f"/begin RECORD_LAYOUT {layout} NO_RESCALE_X 1 UWORD AXIS_RESCALE_X 2 UWORD {count + 2} "
        "INDEX_INCR DIRECT /end RECORD_LAYOUT",
        f'/begin AXIS_PTS {name} "" 0x{address:X} q {layout} 0 {method} {count} 0 65535 '
        "/end AXIS_PTS",
    ]
    span = virtual[-1] - virtual[0]
    places = [(one - virtual[0]) * (size - 1) / span for one in virtual]
    return _axis("RES_AXIS", method, size, f"AXIS_PTS_REF {name}"), _line(points, places)


def _unit(made: Varied, unit: str) -> str:
    name = made.name("U")
    made.blocks.append(f'/begin COMPU_METHOD {name} "" IDENTICAL "%5.0" "{unit}" /end COMPU_METHOD')
    return name


def _axis(kind: str, method: str, size: int, more: str) -> str:
    return f"/begin AXIS_DESCR {kind} q {method} {size} 0 65535 {more} /end AXIS_DESCR"


def mapping(made: Varied) -> str:
    """The map of two axes as the main map, the others as corrections; axes in any order."""
    lines = ['format = "tuneledger-calibration/1"', 'revision = "A"', "[spark.map]"]
    lines += _mapped(made, "TABLE_2")
    for name in ("TABLE_1", "TABLE_3"):
        lines += ["[[spark.correction]]", f'id = "{name}"', 'reason = "other"']
        lines += _mapped(made, name)
    return "\n".join(lines) + "\n"


def _mapped(made: Varied, name: str) -> list[str]:
    axes = [
        f'  {{ signal = "{signal}", axis = "{letter}" }},'
        for letter, (signal, *_) in zip("xyz", made.axes[name], strict=False)
    ]
    random.Random(f"{made.seed} {name}").shuffle(axes)
    return ["axes = [", *axes, "]", f'values = {{ characteristic = "{name}" }}']
