"""Proof: a drive before the change, a drive after it; what is gone, what remains, what is new.

A cause is gone only where the second drive went where the first one showed it: what was not driven
is not shown, never fixed.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

import numpy as np

from tuneledger.arrays import FloatArray, IntArray
from tuneledger.change.matching import about_the_same, again, other_numbers
from tuneledger.change.proof_words import VISITED, called, gone, lacks, not_shown, remains
from tuneledger.change.visited import Drive, acting, drives_of, dwelt, each, visited, would_post
from tuneledger.errors import Fault, UsageError
from tuneledger.explain.model import Cause
from tuneledger.main_job import reconcile_files
from tuneledger.statement.model import Statement
from tuneledger.wording import listing, sentence, share

State = Literal["gone", "remains", "not shown"]

# How long it would have to act on the second drive: a second, or a quarter of before if shorter.
_LONG_S, _LONG_SHARE = 1.0, 0.25
# Of the time that the first drive spent there, where nobody knows what brings the cause on.
_AS_LONG = 0.8


@dataclass(frozen=True, slots=True)
class Proven:
    """What became of one cause of the first drive.

    covered: share of the time in which it acted whose operating points the second drive visited
    now:     the cause of the second drive that is the same, where it remains
    """

    cause: Cause
    state: State
    covered: float
    says: str
    now: Cause | None = None


@dataclass(frozen=True, eq=False)
class Proof:
    """coverage: share of the time in which the causes acted that the second drive went to again."""

    before: Statement
    after: Statement
    causes: tuple[Proven, ...]
    new: tuple[Cause, ...]
    coverage: float

    @property
    def judged(self) -> bool:
        """Whether both drives have an account at all."""
        return all(a.ledger for s in (self.before, self.after) for a in s.logs)

    def unexpected(self, state: State) -> tuple[Proven, ...]:
        return tuple(p for p in self.causes if p.state == state and not p.cause.expected)

    @property
    def strangers(self) -> tuple[Cause, ...]:
        """New causes that nobody expects."""
        return tuple(cause for cause in self.new if not cause.expected)

    @property
    def exit_status(self) -> int:
        """0 all is gone or expected, 1 something remains or is new, 3 something was not shown."""
        if self.judged and self.after.raised_under_load:
            return 1
        if not self.judged:
            return 3
        if self.unexpected("remains") or self.strangers:
            return 1
        return 3 if self.unexpected("not shown") else 0

    @property
    def headline(self) -> str:
        """One sentence that a driver would understand; danger first."""
        if not self.judged:
            statement = self.before if any(not a.ledger for a in self.before.logs) else self.after
            return statement.headline
        if self.after.raised_under_load:
            return self.after.headline
        parts = [
            f"{listing(called(p.cause) for p in found)} {verb}"
            for state, verb in _VERBS.items()
            if (found := self.unexpected(state))
        ]
        if self.strangers:
            parts.append(f"new: {listing(called(c) for c in self.strangers)}")
        if not parts:
            return (
                "Nothing but what is expected, before and after. The crank was not checked."
                if self.causes
                else "There was nothing to prove: the first drive shows no cause."
            )
        text = "; ".join(parts)
        if not self.unexpected("not shown") and not self.unexpected("remains"):
            text += f" ({share(self.coverage)} of where it showed was driven again)"
        return sentence(text)


_VERBS: dict[State, str] = {
    "remains": "remains",
    "not shown": "not shown: not driven again",
    "gone": "gone",
}


def prove(
    before: Sequence[Path | str],
    after: Sequence[Path | str],
    sheets: Sequence[Path | str] = (),
    *,
    roles_file: Path | None = None,
    memory: bool = True,
) -> Proof:
    """Hold the drives after a change against those before it.

    Raises a `TuneledgerError` that says which file cannot be used and why.
    """
    for name, logs in (("before", before), ("after", after)):
        if not logs:
            raise UsageError(Fault(f"there is no log of the drive {name}", do=f"Name it: --{name}"))
    first, second = (
        reconcile_files(
            [*map(Path, logs), *map(Path, sheets)], roles_file=roles_file, memory=memory
        )
        for logs in (before, after)
    )
    return prove_statements(first, second)


def prove_statements(before: Statement, after: Statement) -> Proof:
    """The proof from both statements."""
    first, second = drives_of(before, after)
    been = visited(second)
    proven = tuple(_proven(cause, before, after, first, second, been) for cause in before.causes)
    known = {id(p.now) for p in proven if p.now is not None}
    known |= {id(c) for c in after.causes for p in proven if about_the_same(p.cause, c)}
    new = tuple(cause for cause in after.causes if id(cause) not in known)
    weights = [(p.covered, abs(p.cause.seconds)) for p in proven if not p.cause.expected]
    weights = weights or [(p.covered, abs(p.cause.seconds)) for p in proven]
    total = sum(weight for _, weight in weights)
    if total > 0:
        coverage = sum(covered * weight for covered, weight in weights) / total
    else:
        coverage = _went_again(first, been)
    return Proof(before, after, proven, new, coverage)


def _went_again(first: Sequence[Drive | None], been: IntArray) -> float:
    """Share of the whole first drive whose operating points were visited again."""
    points = [drive.points[drive.counted] for _, drive in each(first)]
    every = np.concatenate(points) if points else np.zeros(0, dtype=np.int64)
    return float(np.isin(every, been).mean()) if every.size else 0.0


def _proven(
    cause: Cause,
    before: Statement,
    after: Statement,
    first: Sequence[Drive | None],
    second: Sequence[Drive | None],
    been: IntArray,
) -> Proven:
    covered = _covered(cause, before, first, been)
    would = [(drive, would_post(cause, drive, before)) for _, drive in each(second)]
    known = [(drive, values) for drive, values in would if values is not None]
    now = again(cause, after, second, known)
    if now is not None and not other_numbers(cause, now, known):
        return Proven(cause, "remains", covered, remains(cause, now), now)
    asked = _would_act(known) if known else None
    enough = min(_LONG_S, _LONG_SHARE * cause.seconds)
    long_there = asked is not None or _as_long(cause, before, first, second)
    lacking = bool(known) and all(np.isnan(values).all() for _, values in known)
    if lacking:
        return Proven(cause, "not shown", covered, lacks(cause))
    if covered >= VISITED and long_there and (asked is None or asked >= enough):
        return Proven(cause, "gone", covered, gone(cause, covered, asked, now), now)
    return Proven(cause, "not shown", covered, not_shown(cause, covered, asked), now)


def _covered(
    cause: Cause, before: Statement, first: Sequence[Drive | None], been: IntArray
) -> float:
    """Share of the rows in which it acted whose operating points were visited again."""
    acted = [
        np.isin(drive.points[acting(cause, number, drive, before)], been)
        for number, drive in each(first)
    ]
    every = np.concatenate(acted) if acted else np.zeros(0, dtype=np.bool_)
    return float(every.mean()) if every.size else 0.0


def _as_long(
    cause: Cause, before: Statement, first: Sequence[Drive | None], second: Sequence[Drive | None]
) -> bool:
    """Whether the second drive was at its operating points for about as long as the first.

    Asked of a cause of which nobody knows what brings it on: a visit alone would not show it.
    """
    acted = [drive.points[acting(cause, n, drive, before)] for n, drive in each(first)]
    points = np.unique(np.concatenate(acted)) if acted else np.zeros(0, dtype=np.int64)
    return dwelt(second, points) >= _AS_LONG * dwelt(first, points) > 0.0


def _would_act(known: Sequence[tuple[Drive, FloatArray]]) -> float:
    """Seconds of the second drive in which it would have acted, had it still been there."""
    return sum(
        drive.seconds(drive.counted & (np.abs(np.nan_to_num(values)) > drive.ledger.tolerance))
        for drive, values in known
    )
