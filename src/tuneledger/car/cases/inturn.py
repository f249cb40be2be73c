"""Kind L: the ECU runs one revision, and from some moment on another: an edit made live.

The truth says which ran when, and between which moments the log can place each change: from the
last row before it to the first row after it in which the two would deliver something else.
"""

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

import numpy as np

from tuneledger.arrays import BoolArray, FloatArray
from tuneledger.car import corrections as make
from tuneledger.car.cases.books import Books
from tuneledger.car.cases.following import replay
from tuneledger.car.cases.ordinary import file_of
from tuneledger.car.cases.setting import Setting
from tuneledger.car.cases.stale import base_of, busiest, ladder_of, warm, weakened
from tuneledger.car.cases.story import (
    Sheet,
    Story,
    UnfitError,
    switched_on,
    with_correction,
    with_spark,
)
from tuneledger.car.drive import Ignition, Run
from tuneledger.car.ecu import Step
from tuneledger.car.logger import Logged
from tuneledger.car.machines import Read
from tuneledger.car.maps import changed

Random = np.random.Generator
WAYS = ("a correction", "a correction", "two corrections", "the map", "there and back")
LEAST_PROOF_S = 1.2  # by so much each side of a change must be seen, else nobody could be asked


class InTurn:
    """Several ECUs one after another. All keep their memory warm, as an edit made live does."""

    def __init__(self, ecus: Sequence[Ignition], until: Sequence[float]) -> None:
        self.ecus, self.until = ecus, until

    def step(self, t: float, read: Read, scheduled: float | None = None) -> Step:
        steps = [ecu.step(t, read) for ecu in self.ecus]
        return steps[sum(t >= at for at in self.until)]


def changed_on_the_way(rng: Random) -> Story:
    """L: one correction or two changed, or the map, once or to and fro."""
    how = str(rng.choice(WAYS))
    s = warm(rng)
    before, featured = base_of(s, 2 if how == "two corrections" else 1)
    after = _edited(rng, s, before, featured, how)
    length = float(s.bench.base.times[-1])
    turns: list[tuple[float, Sheet]] = [(0.0, before)]
    if how == "there and back":
        turns += [(_at(rng, length, 0.3, 0.45), after), (_at(rng, length, 0.6, 0.8), before)]
    else:
        turns += [(_at(rng, length, 0.25, 0.75), after)]
    handed = [before, after]
    if rng.random() < 0.5:
        handed.append(_older(rng, s, before, featured))
    first = int(rng.integers(2))
    handed = [handed[first], *(x for i, x in enumerate(handed) if i != first)]
    sheets = [(file_of(x["revision"]), x) for x in handed]
    acting = ("other-map",) if how == "the map" else tuple(c["id"] for c in featured)
    running = handed[1] if how == "the map" else before
    story = Story(s, f"changed on the way: {how}", running, sheets, acting=acting)
    if how == "the map" and rng.random() < 0.5:
        story.absent = ("scheduled advance",)
    story.turns = tuple(turns)
    story.ecu = lambda: InTurn(
        [switched_on(sheet) for _, sheet in turns], [at for at, _ in turns[1:]]
    )
    story.best_accepted = [before["revision"], after["revision"]]
    return story


def _at(rng: Random, length: float, low: float, high: float) -> float:
    return round(length * float(rng.uniform(low, high)), 2)


def _edited(
    rng: Random, s: Setting, before: Sheet, featured: list[make.Correction], how: str
) -> Sheet:
    name = ladder_of(before)[2]
    if how == "the map":
        by = float(rng.choice([-4.0, -3.0, 3.0]))
        return with_spark(before, name, map=changed(rng, s.the_map, busiest(s), by, 1))
    after = before
    for one in featured:
        changes = weakened(rng, one)
        changes = {"enabled": False} if changes.get("drop") else changes
        after = with_correction(after, one["id"], name, "Edited on the day", **changes)
    return after


def _older(rng: Random, s: Setting, before: Sheet, featured: list[make.Correction]) -> Sheet:
    """A third revision, which ran at no time."""
    softer = changed(rng, s.the_map, busiest(s), -5.0, 1)
    return with_spark(before, ladder_of(before)[0], map=softer)


def true_spans(story: Story, run: Run, logged: Logged, tolerance: float) -> list[dict[str, Any]]:
    """Which revision ran when, and between which moments the log can place each change.

    UnfitError where a side of a change is hardly seen.
    """
    rows = logged.rows
    times = run.times[rows]
    on = ~run.void[rows]
    told = [replay(sheet, run, rows) for _, sheet in story.turns]
    out: list[dict[str, Any]] = []
    ends = [*(at for at, _ in story.turns[1:]), float(times[-1])]
    for n, ((at, sheet), end) in enumerate(zip(story.turns, ends, strict=True)):
        began = None
        if n > 0:
            apart = on & (np.abs(told[n] - told[n - 1]) > 2.0 * tolerance)
            began = _between(times, apart, at, story.turns[n - 1][0], end)
        out.append({
            "log": 0,
            "start_s": round(at, 3),
            "end_s": round(end - float(times[0]), 3),
            "revision": sheet["revision"],
            "began_s": began,
        })  # fmt: skip
    return out


def _between(
    times: FloatArray, apart: BoolArray, at: float, since: float, until: float
) -> list[float]:
    before = times[apart & (times < at) & (times >= since)]
    after = times[apart & (times >= at) & (times < until)]
    row_s = float(np.median(np.diff(times)))
    if min(before.size, after.size) * row_s < LEAST_PROOF_S:
        raise UnfitError("a side of the change is hardly seen")
    return [round(float(before[-1] - times[0]), 3), round(float(after[0] - times[0]), 3)]


def each_in_its_turn(story: Story, books: Books) -> list[tuple[Story, Books]]:
    """The story and its books once per revision that ran, zero where another one did."""
    starts = [at for at, _ in story.turns]
    which = np.searchsorted(starts, books.times, side="right") - 1
    sheets: dict[str, Sheet] = {}
    for _, sheet in story.turns:
        sheets.setdefault(sheet["revision"], sheet)
    out = []
    for revision, sheet in sheets.items():
        mine = [i for i, (_, s) in enumerate(story.turns) if s["revision"] == revision]
        here = np.isin(which, mine)
        part = replace(
            books,
            entries={n: np.where(here, e, 0.0) for n, e in books.entries.items()},
            limit=np.where(here, books.limit, 0.0),
            other_map=np.where(here, books.other_map, 0.0),
            beside_map=np.where(here, books.beside_map, 0.0),
        )
        out.append((replace(story, running=sheet, more=[]), part))
    return out
