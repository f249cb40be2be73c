"""Random calibrations that use everything a sheet can say (CONTRACT section 2).

    @given(calibrations())
    @given(calibrations(signals={"engine speed": (0, 8000)}, channels={"Wet switch": SWITCH}))

Points and thresholds come from a coarse scale of each quantity's range, so that a log drawn from
`scale` of the same range meets them exactly now and then: equality is where evaluators differ.
"""

from collections.abc import Mapping, Sequence
from datetime import date, datetime
from typing import Any, TypeAlias

from hypothesis import strategies as st

from tuneledger.calibrations.check import check
from tuneledger.calibrations.model import EFFECTS, FORMAT, REASONS, Calibration
from tuneledger.signals import SIGNALS as VOCABULARY
from tuneledger.units import conversion

Range: TypeAlias = tuple[float, float]
Raw: TypeAlias = dict[str, Any]

SWITCH: Range = (0.0, 1.0)
SIGNALS: Mapping[str, Range] = {
    "engine speed": (0.0, 8000.0),
    "idle speed target": (600.0, 1200.0),
    "throttle position": (0.0, 100.0),
    "manifold absolute pressure": (20.0, 260.0),
    "barometric pressure": (70.0, 110.0),
    "intake air temperature": (-20.0, 100.0),
    "vehicle speed": (0.0, 200.0),
}
CHANNELS: Mapping[str, Range] = {"Wet switch": SWITCH, "Arm": SWITCH, "Slip": (0.0, 20.0)}
OTHER_UNITS = {
    "rpm": ("krpm",),
    "kPa": ("psi", "bar", "hPa"),
    "degC": ("degF", "K"),
    "%": ("1",),
    "km/h": ("mph",),
}
SECONDS = st.sampled_from((0.05, 0.1, 0.2, 0.3, 0.5, 1.0, 2.5))
DEGREES = st.integers(-80, 160).map(lambda quarter: quarter / 4)
WORDS = st.text(st.characters(codec="utf-8"), max_size=20)
STEPS = 20


def scale(span: Range, unit: str | None = None, own: str = "") -> list[float]:
    """The points of a range, from end to end, in a unit."""
    low, high = span
    factor, offset = (conversion(own, unit) if unit else None) or (1.0, 0.0)
    points = [low + (high - low) * step / STEPS for step in range(STEPS + 1)]
    return [round(point * factor + offset, 6) for point in points]


def calibrations(
    *,
    signals: Mapping[str, Range] = SIGNALS,
    channels: Mapping[str, Range] = CHANNELS,
    most: int = 4,
) -> st.SearchStrategy[Calibration]:
    """Calibrations whose readings use these signals and channels only.

    signals:  name → range in its own unit; channels: name → range (0 to 1 is a switch)
    most:     corrections in a sheet, at most
    """
    return raw_sheets(signals=signals, channels=channels, most=most).map(check)


@st.composite
def raw_sheets(
    draw: st.DrawFn, *, signals: Mapping[str, Range], channels: Mapping[str, Range], most: int
) -> Raw:
    """The raw tree of a sheet, as its reader gives it."""
    make = _Maker(draw, signals, channels)
    names = draw(st.permutations(IDS))[: draw(st.integers(0, most))]
    corrections = [make.correction(name, names[:index]) for index, name in enumerate(names)]
    raw: Raw = {
        "format": FORMAT,
        "revision": draw(WORDS.filter(bool)),
        "spark": {"map": make.map(), "correction": corrections, **make.general(names)},
    }
    make.sometimes(raw, "title", WORDS)
    make.sometimes(raw, "notes", WORDS)
    make.sometimes(raw, "saved", SAVED)
    make.sometimes(raw, "engine", ENGINES)
    make.sometimes(raw, "audit", WISHES)
    return raw


IDS = ("charge-air", "wet", "idle", "hot.air", "Zündung", "a b", "2", "guard", "knock", "x")
SAVED = st.dates(date(1900, 1, 1)) | st.datetimes(datetime(1900, 1, 1))
ENGINES = st.fixed_dictionaries(
    {}, optional={"cylinders": st.integers(1, 16), "fuel": WORDS, "redline_rpm": st.just(7400)}
)

_SIZES = st.integers(0, 80).map(lambda quarter: quarter / 4)
ACCEPTED = st.fixed_dictionaries(
    {
        "check": WORDS.filter(bool),
        "places": st.lists(WORDS.filter(bool), min_size=1, max_size=2),
        "reason": WORDS.filter(bool),
        "of": st.sampled_from(("0123456789ab", "cdef01234567")),
    }
)
WISHES = st.fixed_dictionaries(
    {},
    optional={
        "band": st.fixed_dictionaries(
            {}, optional={"below_map": _SIZES, "above_map": _SIZES, "highest": DEGREES}
        ),
        "accepted": st.lists(ACCEPTED, max_size=2),
    },
)


class _Maker:
    """Draws the parts of one sheet from what its log carries."""

    def __init__(
        self, draw: st.DrawFn, signals: Mapping[str, Range], channels: Mapping[str, Range]
    ) -> None:
        self.draw, self.signals, self.channels = draw, signals, channels
        switches = [name for name, span in channels.items() if span == SWITCH]
        self.switches = switches
        self.measured = [*signals, *(name for name in channels if name not in switches)]

    def chance(self, one_in: int) -> bool:
        return self.draw(st.integers(1, one_in)) == one_in

    def one_of(self, choices: Sequence[Any]) -> Any:
        return self.draw(st.sampled_from(choices))

    def sometimes(self, raw: Raw, key: str, strategy: st.SearchStrategy[Any]) -> None:
        if self.chance(2):
            raw[key] = self.draw(strategy)

    # -- tables

    def table(self, cell: st.SearchStrategy[Any], earlier: Sequence[str], axes: int) -> Raw:
        """A table over so many axes; an amount where there are none."""
        if axes == 0:
            return {"amount": self.draw(cell.filter(lambda value: value != "?"))}
        made = [self.axis(earlier) for _ in range(axes)]
        return {"axes": made, "values": self._nested(cell, [len(axis["at"]) for axis in made])}

    def _nested(self, cell: st.SearchStrategy[Any], shape: list[int]) -> list[Any]:
        if len(shape) == 1:
            return [self.draw(cell) for _ in range(shape[0])]
        return [self._nested(cell, shape[1:]) for _ in range(shape[0])]

    def axis(self, earlier: Sequence[str]) -> Raw:
        reading, points = self.reading(earlier)
        apart = sorted(set(points))
        chosen = self.draw(st.lists(st.sampled_from(apart), unique=True, min_size=1, max_size=4))
        return {**reading, "at": sorted(chosen)}

    def cells(self) -> st.SearchStrategy[Any]:
        return DEGREES | st.just("?") if self.chance(4) else DEGREES

    # -- readings and conditions

    def reading(self, earlier: Sequence[str], depth: int = 1) -> tuple[Raw, list[float]]:
        """A reading that has a number, and the points worth comparing it with."""
        if depth and self.chance(6):
            since: Raw = {"since": self.condition(earlier, depth - 1)}
            unit = self.one_of((None, "s", "ms"))
            factor = 1000.0 if unit == "ms" else 1.0
            return _with_unit(since, unit), [factor * step / 10 for step in range(0, 40, 5)]
        name = self.one_of(self.measured)
        if name not in self.signals:
            return self._second({"channel": name}, None, scale(self.channels[name]))
        own = VOCABULARY[name].unit
        unit = self.one_of((None, own, *OTHER_UNITS.get(own, ())))
        points = scale(self.signals[name], unit, own)
        return self._second(_with_unit({"signal": name}, unit or None), own, points)

    def _second(self, raw: Raw, own: str | None, points: list[float]) -> tuple[Raw, list[float]]:
        """Perhaps minus or over another, or the rate of it."""
        kind = self.one_of(("plain", "plain", "plain", "minus", "over", "rate"))
        reach = points[-1] - points[0]
        about_zero = [round(reach * step / STEPS, 6) for step in range(-STEPS, STEPS + 1, 4)]
        if kind == "minus":
            alike = [name for name in self.measured if own == self._own(name)]
            if alike:
                return raw | {"minus": self.one_of(alike)}, about_zero
        if kind == "over":
            return raw | {"over": self.one_of(self.measured)}, [
                step / 10 for step in range(0, 41, 2)
            ]
        if kind == "rate":
            return raw | {"rate": self.draw(SECONDS)}, about_zero
        return raw, points

    def _own(self, name: str) -> str | None:
        return VOCABULARY[name].unit if name in self.signals else None

    def condition(self, earlier: Sequence[str], depth: int = 2) -> Raw:
        kind = self.one_of(("number", "number", "switch", "any", "correction"))
        if kind == "any" and depth:
            inner = [self.condition(earlier, depth - 1) for _ in range(self.one_of((1, 2, 3)))]
            return {"any": inner}
        if kind == "correction" and earlier:
            return {"correction": self.one_of(list(earlier)), "is": "active"}
        if kind == "switch" and self.switches:
            wanted: Raw = {
                "channel": self.one_of(self.switches),
                "is": self.one_of(("on", "off", 1)),
            }
            return self._timed(wanted)
        reading, points = self.reading(earlier, depth)
        return self._timed(reading | self._comparison(points))

    def _comparison(self, points: list[float]) -> Raw:
        kind = self.one_of(("above", "below", "between", "is"))
        first, second = sorted((self.one_of(points), self.one_of(points)))
        if kind == "between":
            return {"between": [first, second]}
        if kind == "is":
            return {"is": first}
        high, low = (second, first) if kind == "above" else (first, second)
        return {kind: high, "release": low} if self.chance(2) else {kind: high}

    def _timed(self, raw: Raw) -> Raw:
        if self.chance(4):
            raw["held"] = self.draw(SECONDS)
        if self.chance(4):
            raw["linger"] = self.draw(SECONDS)
        return raw

    # -- the sheet

    def map(self) -> Raw:
        return self.table(self.cells(), (), self.one_of((0, 1, 2, 2, 3)))

    def general(self, names: Sequence[str]) -> Raw:
        raw: Raw = {}
        self.sometimes(raw, "complete", st.booleans())
        low, high = sorted((self.draw(DEGREES), self.draw(DEGREES)))
        ends = {"lowest": st.just(low), "highest": st.just(high)}
        self.sometimes(raw, "limits", st.fixed_dictionaries({}, optional=ends))
        if names:
            included = st.lists(st.sampled_from(names), unique=True, max_size=2)
            self.sometimes(raw, "scheduled_includes", included)
        return raw

    def correction(self, name: str, earlier: Sequence[str]) -> Raw:
        raw: Raw = {"id": name}
        effect = self.one_of(EFFECTS)
        if effect != "add" or self.chance(2):
            raw["effect"] = effect
        if effect == "add" and self.chance(3):
            raw |= self.one_of(({"range": [-8, 0]}, {"logged_as": "Share"}))
        else:
            raw |= self.table(self.cells(), earlier, self.one_of((0, 0, 1, 1, 2, 3)))
            self._conditions(raw, earlier)
        if effect == "base" and not self.chance(4):
            shares = st.integers(0, 4).map(lambda quarter: quarter / 4)
            cells = shares | st.just("?") if self.chance(4) else shares
            raw["weight"] = self.table(cells, earlier, self.one_of((0, 1, 1, 2)))
        if effect == "add" and self.chance(2):
            rate = st.sampled_from((0.5, 2, 10, 40.0))
            both = st.fixed_dictionaries({"down": rate, "up": rate})
            raw["ramp"] = self.draw(rate | both)
        self.sometimes(raw, "title", WORDS)
        self.sometimes(raw, "reason", st.sampled_from(REASONS))
        self.sometimes(raw, "enabled", st.booleans())
        self.sometimes(raw, "expected", WORDS)
        if self.chance(5):
            raw["logged_as"] = "Share"
        return raw

    def _conditions(self, raw: Raw, earlier: Sequence[str]) -> None:
        if not self.chance(3):
            raw["when"] = [self.condition(earlier) for _ in range(self.one_of((1, 1, 2)))]
        if self.chance(3):
            raw["until"] = "power off" if self.chance(2) else self.condition(earlier)


def _with_unit(raw: Raw, unit: str | None) -> Raw:
    return raw if unit is None else raw | {"unit": unit}
