"""What differs between a revision and the one before it, part by part."""

from collections.abc import Iterator, Mapping
from typing import Any

import numpy as np

from tuneledger.audit.phrases import called, cells_listed
from tuneledger.calibrations.model import Calibration, Correction
from tuneledger.calibrations.paths import as_raw
from tuneledger.record import record
from tuneledger.wording import count, degree_span, degrees, listing


@record
class Change:
    """One part that is not what it was.

    path: in the new sheet (where the part is gone, `spark`)
    what: what changed, as a phrase without a subject: `switched on`, `values eased …`
    names: words by which a note would name it
    """

    path: str
    subject: str
    what: str
    names: tuple[str, ...]


_MAP_WORDS = ("map", "cell", "row", "column", "base", "table", "kpa", "rpm", "timing", "spark")


def same_map(one: Calibration, other: Calibration) -> bool:
    """Whether two maps have the same axes, so that their cells can be compared."""
    return bool(as_raw(one.spark.map.axes) == as_raw(other.spark.map.axes))


def changes(before: Calibration, after: Calibration) -> Iterator[Change]:
    """Every part of the spark side that differs, the map first."""
    yield from _map_change(before, after)
    if before.spark.limits != after.spark.limits:
        yield Change("spark.limits", "The limits", "changed", ("limit", "clamp"))
    old = {c.id: c for c in before.spark.correction}
    for index, correction in enumerate(after.spark.correction):
        path = f"spark.correction[{index}]"
        was = old.pop(correction.id, None)
        if was is None:
            state = "" if correction.enabled else ", switched off"
            yield _change(path, correction, f"is new{state}")
        elif as_raw(was) != as_raw(correction):
            what = listing(list(_differs(was, correction)))
            if what:
                yield _change(path, correction, what)
    for gone in old.values():
        yield _change("spark", gone, "is gone")
    kept = [c.id for c in before.spark.correction if after.spark.find(c.id)]
    now = [c.id for c in after.spark.correction if before.spark.find(c.id)]
    if kept != now:
        yield Change("spark", "The order of the corrections", "changed", ("order",))


def _change(path: str, correction: Correction, what: str) -> Change:
    words = f"{correction.id} {correction.title}".replace("-", " ").replace("_", " ").split()
    known = tuple(w.casefold() for w in words if len(w) > 2 and w.casefold() not in _COMMON)
    return Change(path, called(correction), what, known)


_COMMON = (
    "the",
    "and",
    "for",
    "with",
    "hot",
    "hard",
    "low",
    "high",
    "guard",
    "limit",
    "new",
    "old",
)


def _map_change(before: Calibration, after: Calibration) -> Iterator[Change]:
    old, new = before.spark.map, after.spark.map
    if not same_map(before, after):
        yield Change("spark.map", "The map", "has other axes", _MAP_WORDS)
        return
    differs = ~((old.grid == new.grid) | (np.isnan(old.grid) & np.isnan(new.grid)))
    if differs.any():
        by = (new.grid - old.grid)[differs]
        span = _span(by[np.isfinite(by)])
        where = cells_listed(after, differs)
        what = f"changed by {span} in {count(int(differs.sum()), 'cell')} ({where})"
        yield Change("spark.map", "The map", what, _MAP_WORDS)


def _differs(was: Correction, now: Correction) -> Iterator[str]:
    """What changed in a correction, the switch first."""
    if was.enabled != now.enabled:
        yield "is switched on" if now.enabled else "is switched off"
    if _shape(was) != _shape(now):
        yield "has another table"
    elif not np.array_equal(was.grid, now.grid, equal_nan=True):
        by = np.atleast_1d(now.grid - was.grid)
        by = by[np.isfinite(by) & (by != 0)]
        yield f"changed by {_span(by)}"
    for keys, words in _SAID.items():
        if any(getattr(was, key) != getattr(now, key) for key in keys):
            yield words


_SAID: Mapping[tuple[str, ...], str] = {
    ("when", "until"): "has other conditions",
    ("effect", "weight"): "acts in another way",
    ("ramp",): "has another ramp",
    ("range",): "has another range",
    ("expected",): "is expected for another reason",
    ("title", "reason", "logged_as"): "is described otherwise",
}


def _shape(table: Correction) -> Any:
    return [as_raw(axis) for axis in table.axes], table.has_numbers


def _span(by: np.ndarray[Any, Any]) -> str:
    if not by.size:
        return "what is not known"
    low, high = float(by.min()), float(by.max())
    return degrees(low) if abs(low - high) < 0.05 else degree_span(low, high)


def noted(change: Change, notes: str) -> bool:
    """Whether the notes of a revision speak of a change: one of its words stands in them."""
    said = notes.casefold()
    return any(word in said for word in change.names)
