"""Reach by brute force: every breakpoint and its neighbours, every memory, in every combination.

Written from CONTRACT sections 2 and 4 alone; shares no code with `tuneledger.audit`. Each quantity
takes every value at which something in the sheet changes, a little less and a little more, and the
ends of what it can be; each memory every state. All combinations are laid out as rows of one long
table and the effects are carried out on the rows, one after the other.
"""

from itertools import combinations, product
from typing import Any

import numpy as np

from tests.audit.brute_choices import NEVER, choices_of
from tests.audit.brute_readings import (
    A_LITTLE,
    Raw,
    bare,
    holds,
    key_of,
    left_behind,
    reading,
    reading_span,
    unit_of,
    walk,
)
from tuneledger.calibrations.model import Calibration
from tuneledger.calibrations.paths import as_raw
from tuneledger.signals import SIGNALS
from tuneledger.units import conversion


class TooManyRowsError(Exception):
    """More rows than a test should take."""


def reach(sheet: Calibration, most: int = 40_000) -> tuple[np.ndarray, np.ndarray]:
    """(lowest, highest) in the shape of the map."""
    spark = as_raw(sheet)["spark"]
    table = spark["map"]
    points = [axis["at"] for axis in table.get("axes", [])]
    shape = tuple(map(len, points))
    low, high = np.empty(shape), np.empty(shape)
    for cell in product(*map(range, shape)):
        fixed = {}
        for axis, index in zip(table.get("axes", []), cell, strict=True):
            name = axis["signal"]
            scale, offset = unit_of(name, axis.get("unit"))
            fixed[name] = (axis["at"][index] - offset) / scale
        value = table["amount"] if "amount" in table else _pick(table["values"], cell)
        rows = Rows(spark, fixed, most)
        met = rows.crossings(float(value))
        found = (Rows(spark, fixed, most, met) if met else rows).delivered(float(value))
        low[cell], high[cell] = found.min(), found.max()
    return low, high


def _pick(values: Any, cell: tuple[int, ...]) -> float:
    for index in cell:
        values = values[index]
    return float(values)


class Rows:
    """All combinations for one cell of the map."""

    def __init__(
        self,
        spark: Raw,
        fixed: dict[str, float],
        most: int,
        more: dict[str, list[float]] | None = None,
    ) -> None:
        self.spark = spark
        self.enabled = [c for c in spark.get("correction", []) if c.get("enabled", True)]
        self.columns: dict[str, np.ndarray] = {}
        self.fixed = fixed
        choices = choices_of(self.enabled, fixed, more or {})
        rows = int(np.prod([len(v) for v in choices.values()]))
        if rows > most:
            raise TooManyRowsError(rows)
        grid = np.meshgrid(*choices.values(), indexing="ij") if choices else []
        for name, values in zip(choices, grid, strict=True):
            self.columns[name] = values.ravel()
        self.rows = rows
        self.choices = choices

    # -- what the rows say

    def delivered(self, scheduled: float) -> np.ndarray:
        """Delivered advance on every row that some drive can lead to."""
        allowed = self._allowed()
        active: dict[str, np.ndarray] = {}
        acts = []
        for index, correction in enumerate(self.enabled):
            acts.append(self._active(index, correction, active))
            active[correction["id"]] = acts[-1]
        values = [self._value(i, c) for i, c in enumerate(self.enabled)]
        work = list(zip(self.enabled, acts, values, strict=True))
        stands = self._summed(scheduled, work)
        for c, on, value in work:
            if c.get("effect") == "at most":
                stands = np.where(on, np.minimum(stands, value), stands)
            if c.get("effect") == "at least":
                stands = np.where(on, np.maximum(stands, value), stands)
        for c, on, value in work:
            if c.get("effect") == "replace":
                stands = np.where(on, value, stands)
        limits = self.spark.get("limits", {})
        stands = np.minimum(stands, limits.get("highest", np.inf))
        stands = np.maximum(stands, limits.get("lowest", -np.inf))
        return stands[allowed]

    def _summed(self, scheduled: float, work: list[tuple[Raw, Any, Any]]) -> np.ndarray:
        """The map with every base and add."""
        stands = np.full(self.rows, scheduled)
        for c, on, value in work:
            if c.get("effect") == "base":
                weight = self._table(c["weight"]) if "weight" in c else 1.0
                stands = np.where(on, (1 - weight) * stands + weight * value, stands)
        for c, on, value in work:
            if c.get("effect", "add") == "add":
                stands = np.where(on, stands + value, stands)
        return stands

    def crossings(self, scheduled: float) -> dict[str, list[float]]:
        """Where along a quantity the sum meets a cap, or a cap another one, between two choices:
        what is delivered may be highest or lowest there."""
        caps = [c for c in self.enabled if c.get("effect") in ("at most", "at least")]
        if not any("axes" in c for c in caps):
            return {}
        active: dict[str, np.ndarray] = {}
        work = []
        for index, c in enumerate(self.enabled):
            active[c["id"]] = self._active(index, c, active)
            work.append((c, active[c["id"]], self._value(index, c)))
        shape = tuple(map(len, self.choices.values()))
        lines = [self._summed(scheduled, work), *(v for c, _, v in work if c in caps)]
        out: dict[str, list[float]] = {}
        for axis, (name, places) in enumerate(self.choices.items()):
            if name in SIGNALS:
                at = np.moveaxis(np.broadcast_to(_along(places, axis, len(shape)), shape), axis, 0)
                for one, other in combinations(lines, 2):
                    off = np.moveaxis((one - other).reshape(shape), axis, 0)
                    meets = (off[:-1] * off[1:] < 0) & (at[1:] - at[:-1] > 10 * A_LITTLE)
                    share = off[:-1][meets] / (off[:-1] - off[1:])[meets]
                    met = at[:-1][meets] + share * (at[1:] - at[:-1])[meets]
                    out.setdefault(name, []).extend(np.unique(met.round(7)).tolist())
        return {name: values for name, values in out.items() if values}

    def _allowed(self) -> np.ndarray:
        """Rows whose joint memory some jumps of the readings leave behind."""
        out = np.ones(self.rows, dtype=bool)
        groups: dict[str, list[Raw]] = {}
        for part in walk(self.enabled):
            if "release" in part:
                groups.setdefault(reading(part), []).append(part)
        for parts in groups.values():
            distinct = {bare(p): p for p in parts}
            names = list(distinct)
            states = left_behind(list(distinct.values()), reading_span(parts[0]))
            seen = [self.columns[f"was {name}"] for name in names]
            out &= np.any(
                [
                    np.all([c == s for c, s in zip(seen, state, strict=True)], axis=0)
                    for state in states
                ],
                axis=0,
            )
        return out

    def _active(self, index: int, c: Raw, active: dict[str, np.ndarray]) -> np.ndarray:
        on = np.ones(self.rows, dtype=bool)
        for condition in c.get("when", []):
            on &= self._truth(condition, active)
        if "until" in c:
            closed = self.columns[f"latch {index}"] > 0
            if c["until"] != "power off":
                closed = closed & ~self._truth(c["until"], active)
            if self.ever(c.get("when", [])):
                on = on | closed
        for table in (c, c.get("weight", {})):
            for axis in table.get("axes", []):
                if "since" in axis:
                    on &= self._read(axis) != NEVER
        if f"own {index}" in self.columns:
            on &= self.columns[f"own {index}"] > 0
        return on

    def _truth(self, c: Raw, active: dict[str, np.ndarray]) -> np.ndarray:
        if "any" in c:
            return np.any([self._truth(one, active) for one in c["any"]], axis=0)
        if "correction" in c:
            return active.get(c["correction"], np.zeros(self.rows, dtype=bool))
        seen = self._read(c)
        never = seen == NEVER if "since" in c else np.zeros(self.rows, dtype=bool)
        hit = holds(c, seen) & ~never
        if "release" in c:
            passed = seen < c["release"] if "above" in c else seen > c["release"]
            hit = hit | (~passed & ~never & (self.columns[f"was {bare(c)}"] > 0))
        if "held" in c:
            hit = hit & (self.columns[f"held {key_of(c, 'held', 'linger')}"] >= c["held"])
        if "linger" in c:
            lately = self.columns[f"linger {key_of(c, 'linger')}"] < c["linger"]
            possible = self.ever([{k: v for k, v in c.items() if k != "linger"}])
            hit = hit | (lately & possible)
        return hit

    def ever(self, conditions: list[Raw]) -> bool:
        """Whether conditions can all hold somewhere, the map's inputs free as well."""
        if not conditions:
            return True
        spark = {
            "correction": [
                *self._earlier(conditions),
                {"id": "?", "amount": 0.0, "when": conditions},
            ]
        }
        rows = Rows(spark, {}, 400_000)
        active: dict[str, np.ndarray] = {}
        for index, c in enumerate(rows.enabled):
            active[c["id"]] = rows._active(index, c, active)
        return bool((active["?"] & rows._allowed()).any())

    def _earlier(self, conditions: list[Raw]) -> list[Raw]:
        wanted = {p["correction"] for p in walk(conditions) if "correction" in p}
        if not wanted:
            return []
        found = [c for c in self.enabled if c["id"] in wanted]
        before = [
            c
            for c in self._earlier([x for c in found for x in c.get("when", [])])
            if c["id"] not in wanted
        ]
        return [*before, *found]

    def _read(self, part: Raw) -> np.ndarray:
        if "since" in part:
            factor = 1.0 if part.get("unit") in (None, "s") else conversion("s", part["unit"])[0]
            times = self.columns[f"since {part['since']}"].copy()
            if not (self.ever([part["since"]]) and self._can_fail(part["since"])):
                times[:] = NEVER
            return times * factor
        name = part.get("signal") or part["channel"]
        if "rate" in part:
            change = (self._of(name) - self.columns[f"then {name} {part['rate']}"]) / part["rate"]
            return change * unit_of(name, part.get("unit"))[0]
        scale, offset = unit_of(name, part.get("unit"))
        value = self._of(name) * scale + offset
        if "minus" in part:
            value = value - self._of(part["minus"])
        if "over" in part:
            value = value / self._of(part["over"])
        return value

    def _can_fail(self, condition: Raw) -> bool:
        """Whether a condition can be false somewhere."""
        spark = {
            "correction": [
                *self._earlier([condition]),
                {"id": "?", "amount": 0.0, "when": [condition]},
            ]
        }
        rows = Rows(spark, {}, 400_000)
        active: dict[str, np.ndarray] = {}
        for index, c in enumerate(rows.enabled):
            active[c["id"]] = rows._active(index, c, active)
        return bool((~active["?"] & rows._allowed()).any())

    def _of(self, name: str) -> np.ndarray:
        return np.full(self.rows, self.fixed[name]) if name in self.fixed else self.columns[name]

    def _value(self, index: int, c: Raw) -> np.ndarray:
        if f"own {index}" in self.columns:
            low, high = c["range"]
            return np.where(self.columns[f"own {index}"] > 1, high, low)
        return self._table(c)

    def _table(self, table: Raw) -> np.ndarray:
        if "amount" in table:
            return np.full(self.rows, float(table["amount"]))
        grid = np.array(table["values"], dtype=float)
        seen = [self._read(axis) for axis in table["axes"]]
        out = np.zeros(self.rows)
        located = [_between(axis["at"], s) for axis, s in zip(table["axes"], seen, strict=True)]
        for corner in product(*[(0, 1)] * len(located)):
            weight, where = 1.0, []
            for up, (below, share, last) in zip(corner, located, strict=True):
                where.append(np.minimum(below + up, last))
                weight = weight * (share if up else 1 - share)
            out = out + weight * grid[tuple(where)]
        return out


def _along(places: list[float], axis: int, dimensions: int) -> np.ndarray:
    return np.array(places).reshape([-1 if i == axis else 1 for i in range(dimensions)])


def _between(at: list[float], values: np.ndarray) -> tuple[np.ndarray, np.ndarray, int]:
    held = np.clip(values, at[0], at[-1])
    below = np.zeros(len(values), dtype=int)
    for index in range(1, len(at)):
        below = np.where(held >= at[index], index, below)
    above = np.minimum(below + 1, len(at) - 1)
    points = np.array(at, dtype=float)
    gap = points[above] - points[below]
    share = np.where(gap > 0, (held - points[below]) / np.where(gap > 0, gap, 1.0), 0.0)
    return below, share, len(at) - 1
