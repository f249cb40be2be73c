"""How the peer carries out a sheet: tables by SciPy, conditions sample by sample, no memory."""

import tomllib
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
from scipy.interpolate import RegularGridInterpolator

from tuneledger.arrays import BoolArray, FloatArray
from tuneledger.units import convert

Sheet = Mapping[str, Any]


class NotLoggedError(Exception):
    """The sheet reads something that the log does not carry, or that the peer cannot compute."""


class Bench:
    """A log as a data frame, with the roles that the peer is told."""

    def __init__(
        self, frame: pd.DataFrame, roles: Mapping[str, Any], units: Mapping[str, str]
    ) -> None:
        self.frame = frame
        self._roles = roles
        self._units = units
        given = (roles.get(name) for name in ("delivered advance", "scheduled advance"))
        self.advance = {str(role["channel"]) for role in given if role}
        self._names = {str(name).casefold(): str(name) for name in frame.columns}

    def column(self, part: Mapping[str, Any]) -> FloatArray:
        """The number that an axis or a condition reads. NotLoggedError where it cannot be had."""
        if part.get("since") is not None:
            raise NotLoggedError("a timer")
        values = self._read(part.get("signal"), part.get("channel"), part.get("unit"))
        if part.get("minus"):
            values = values - self._read(part["minus"], part["minus"], part.get("unit"))
        if part.get("over"):
            values = values / self._read(part["over"], part["over"], None)
        if part.get("rate"):
            times = self.frame.index.to_numpy()
            values = np.gradient(values, times)
        return values

    def _read(self, signal: str | None, channel: str | None, unit: str | None) -> FloatArray:
        role = self._roles.get(signal or "")
        name = role["channel"] if role else channel
        own = self._names.get(str(name).casefold())
        if own is None:
            raise NotLoggedError(str(signal or channel))
        values: FloatArray = self.frame[own].to_numpy(dtype=np.float64)
        has = role["unit"] if role else self._units.get(own, "")
        return convert(values, has, unit) if unit and has and unit != has else values


def read_sheet(path: Path) -> Sheet:
    return tomllib.loads(path.read_text(encoding="utf-8"))


def look_up(table: Mapping[str, Any], bench: Bench) -> FloatArray:
    """A table's value in every sample; end values hold outside."""
    if "amount" in table:
        return np.full(len(bench.frame), float(table["amount"]))
    if "values" not in table:
        raise NotLoggedError("a correction that the ECU works out itself")
    axes = [axis["at"] for axis in table["axes"]]
    grid = np.array(_numbers(table["values"]), dtype=np.float64)
    points = np.column_stack(
        [np.clip(bench.column(axis), axis["at"][0], axis["at"][-1]) for axis in table["axes"]]
    )
    if any(len(at) == 1 for at in axes):
        raise NotLoggedError("an axis of one point")
    found: FloatArray = RegularGridInterpolator(axes, grid, bounds_error=False)(points)
    return found


def _numbers(values: Any) -> Any:
    if isinstance(values, list):
        return [_numbers(value) for value in values]
    return np.nan if values == "?" else values


def active(correction: Mapping[str, Any], bench: Bench) -> BoolArray:
    """Where all conditions hold now; hysteresis, delays and latches are left aside."""
    out = np.ones(len(bench.frame), dtype=bool)
    for part in correction.get("when", ()):
        out &= _holds(part, bench)
    return out


def _holds(part: Mapping[str, Any], bench: Bench) -> BoolArray:
    if "any" in part:
        out = np.zeros(len(bench.frame), dtype=bool)
        for one in part["any"]:
            out |= _holds(one, bench)
        return out
    if "correction" in part:
        raise NotLoggedError("another correction's state")
    values = bench.column(part)
    holds: BoolArray
    if "above" in part:
        holds = values > part["above"]
    elif "below" in part:
        holds = values < part["below"]
    elif "between" in part:
        holds = (values >= part["between"][0]) & (values <= part["between"][1])
    elif part["is"] in ("on", "off"):
        holds = (values >= 0.5) == (part["is"] == "on")
    else:
        holds = values == part["is"]
    return holds


def predicted(sheet: Sheet, scheduled: FloatArray, bench: Bench) -> dict[str, FloatArray]:
    """What each enabled correction adds to the scheduled advance, as far as the peer can say."""
    out: dict[str, FloatArray] = {}
    spark = sheet["spark"]
    stands = scheduled.copy()
    for correction in spark.get("correction", ()):
        if not correction.get("enabled", True):
            continue
        try:
            value, acts = look_up(correction, bench), active(correction, bench)
        except (NotLoggedError, ValueError):
            continue
        effect = correction.get("effect", "add")
        moved = {
            "add": stands + value,
            "base": value + (stands - scheduled),
            "at most": np.minimum(stands, value),
            "at least": np.maximum(stands, value),
            "replace": value,
        }[effect]
        entry = np.where(acts, moved - stands, 0.0)
        out[correction["id"]] = entry
        stands = stands + entry
    limits = spark.get("limits", {})
    held = np.clip(stands, limits.get("lowest", -np.inf), limits.get("highest", np.inf))
    out["limit"] = held - stands
    return out
