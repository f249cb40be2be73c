"""The true causes of a case, by comparing what runs with what was handed over."""

from typing import Any

import numpy as np

from tuneledger.arrays import FloatArray
from tuneledger.car.cases.books import LEAST_S, Books
from tuneledger.car.cases.inturn import each_in_its_turn
from tuneledger.car.cases.story import Cause, Sheet, Story
from tuneledger.car.dress import Column
from tuneledger.car.rules import rule_of

QUIET_KEYS = ("title", "reason", "expected", "logged_as", "range")


def causes(story: Story, books: Books, tolerance: float, columns: list[Column]) -> list[Cause]:
    """Every correction, limit or map that moves the advance beyond tolerance, ranked."""
    if not story.turns:
        return ranked(_found(story, books, tolerance, columns) + [dict(c) for c in story.more])
    apart = [
        cause
        for own, part in each_in_its_turn(story, books)
        for cause in _found(own, part, tolerance, columns)
    ]
    return ranked(_joined(apart) + [dict(c) for c in story.more])


def _joined(found: list[Cause]) -> list[Cause]:
    """What two revisions have alike is one cause, with the degrees and seconds of both."""
    out: dict[tuple[Any, ...], Cause] = {}
    for cause in found:
        other = out.setdefault((cause["kind"], cause["correction"], cause["revision"]), cause)
        if other is not cause:
            seconds = cause["seconds"] + other["seconds"]
            total = sum(c["degrees"] * c["seconds"] for c in (cause, other))
            other["degrees"], other["seconds"] = round(total / seconds, 2), round(seconds, 2)
            other["raises"] |= cause["raises"]
    return list(out.values())


def _found(story: Story, books: Books, tolerance: float, columns: list[Column]) -> list[Cause]:
    found = [
        _cause(story, books, tolerance, c, columns)
        for c in story.running["spark"]["correction"]
        if acts(books.entries.get(c["id"]), books, tolerance)
    ]
    if acts(books.limit, books, tolerance):
        found.append(_limit(story, books, tolerance))
    if acts(books.beside_map, books, tolerance):
        found.append(_other_map(story, books, tolerance))
    return found


def acts(entry: FloatArray | None, books: Books, tolerance: float) -> bool:
    """Whether an entry (degrees per row, None where the run has none) lies beyond tolerance for
    long enough to be a cause: `LEAST_S`, and two rows at least."""
    if entry is None:
        return False
    beyond = np.abs(entry) > tolerance + 1e-9
    return int(beyond.sum()) >= max(2, round(LEAST_S / row_s(books)))


def row_s(books: Books) -> float:
    """Seconds from one row of the books to the next, in the middle."""
    return float(np.median(np.diff(books.times)))


def _figures(entry: FloatArray, books: Books, tolerance: float) -> dict[str, Any]:
    beyond = np.abs(entry) > tolerance + 1e-9
    raises = (entry > tolerance) & books.loaded & (books.difference > tolerance)
    return {
        "degrees": round(float(entry[beyond].mean()), 2),
        "seconds": round(float(beyond.sum()) * row_s(books), 2),
        "raises": bool(raises.sum() >= max(3, round(0.1 / row_s(books)))),
    }


def _cause(
    story: Story, books: Books, tolerance: float, c: dict[str, Any], columns: list[Column]
) -> Cause:
    name = c["id"]
    out: Cause = {"correction": name, "revision": None, "channel": _channel(story, name, columns)}
    out |= _figures(books.entries[name], books, tolerance)
    out["expected"] = bool(c.get("expected")) or c["reason"] == "idle speed"
    out["idle"] = c["reason"] == "idle speed"
    replaces = c.get("effect") == "replace"
    owner = None if name in story.hidden else owner_of(story, c)
    if owner is None:
        listed = bool(story.sheets) and find(story.sheets[0][1], name) is not None
        out |= {"kind": "hidden rule", "accept_kinds": ["hidden rule"]}
        if listed or out["idle"]:
            out["accept_kinds"].append("correction")
        if replaces:
            out["accept_kinds"].append("replacement")
        if not listed:
            out["correction"] = None
        out["rule"] = rule_of(c, columns) if c.get("effect", "add") == "add" else None
    elif owner == story.sheets[0][1]["revision"]:
        kind = "replacement" if replaces else "correction"
        out |= {"kind": kind, "accept_kinds": ["correction", kind] if replaces else [kind]}
        out["revision"] = owner
    else:
        out |= {"kind": "other revision", "accept_kinds": ["other revision"], "revision": owner}
    if name in story.accept:
        out["accept_kinds"] = list(story.accept[name])
    return out


def _channel(story: Story, name: str, columns: list[Column]) -> str | None:
    for key, (ids, _) in story.shares.items():
        if ids == (name,):
            return next((c.name for c in columns if c.key == key), None)
    return None


def owner_of(story: Story, c: dict[str, Any]) -> str | None:
    """The first revision handed over that has the correction exactly so, and switched on."""
    for _, handed in story.sheets:
        other = find(handed, c["id"])
        if other and other.get("enabled", True) and same(c, other):
            return str(handed["revision"])
    return None


def find(sheet: Sheet, name: str) -> dict[str, Any] | None:
    """The correction of that id in a sheet as data; None where the sheet has none."""
    return next((c for c in sheet["spark"]["correction"] if c["id"] == name), None)


def same(a: dict[str, Any], b: dict[str, Any]) -> bool:
    """Whether two corrections do the same, whatever they are called and whether they are on."""

    def bare(c: dict[str, Any]) -> dict[str, Any]:
        return {k: v for k, v in c.items() if k not in (*QUIET_KEYS, "enabled")}

    return bare(a) == bare(b)


def _limit(story: Story, books: Books, tolerance: float) -> Cause:
    owner = next(
        (s["revision"] for _, s in story.sheets
         if s["spark"].get("limits") == story.running["spark"].get("limits")), None)  # fmt: skip
    first = bool(story.sheets) and owner == story.sheets[0][1]["revision"]
    kinds = ["limit"] if first else ["limit", "other revision", "hidden rule"]
    return {"correction": None, "revision": None, "channel": None, "kind": "limit",
            "accept_kinds": kinds, "expected": False, "idle": False,
            **_figures(books.limit, books, tolerance)}  # fmt: skip


def _other_map(story: Story, books: Books, tolerance: float) -> Cause:
    the_map = story.running["spark"]["map"]
    owner = next((s["revision"] for _, s in story.sheets if s["spark"]["map"] == the_map), None)
    gap = books.beside_map
    beyond = np.abs(gap) > tolerance + 1e-9
    raises = (gap > tolerance) & books.loaded
    return {
        "correction": None, "revision": owner, "channel": None,
        "kind": "other revision" if owner else "other map",
        "accept_kinds": ["other map"] + (["other revision"] if owner else []),
        "expected": False, "idle": False,
        "degrees": round(float(gap[beyond].mean()), 2),
        "seconds": round(float(beyond.sum()) * row_s(books), 2),
        "raises": bool(raises.sum() >= max(3, round(0.1 / row_s(books)))),
    }  # fmt: skip


def ranked(found: list[Cause]) -> list[Cause]:
    """What raises under load first, then the unexpected, then by degrees times seconds.

    `main`: may rightly stand first, being nearly as heavy as the first of its kind.
    """

    def weight(c: Cause) -> float:
        return abs(float(c["degrees"])) * float(c["seconds"])

    def order(c: Cause) -> tuple[bool, bool, float]:
        return (not c["raises"], c["expected"], -weight(c))

    found = sorted(found, key=order)
    for rank, c in enumerate(found, 1):
        same_class = order(c)[:2] == order(found[0])[:2]
        near = weight(c) >= 0.6 * weight(found[0]) or c["kind"] in ("sign", "unit")
        c |= {"rank": rank, "main": same_class and near}
    return found
