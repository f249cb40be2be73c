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
from tuneledger.change.visited import Drive, acting, drives_of, each, visited, would_post
from tuneledger.errors import Fault, UsageError
from tuneledger.explain.model import Cause
from tuneledger.main_job import reconcile_files
from tuneledger.statement.model import Statement
from tuneledger.wording import degrees, listing, seconds, sentence, share

State = Literal["gone", "remains", "not shown"]

# Share of the time in which it acted whose operating points the second drive has to visit.
_VISITED = 0.6
# How long it would have to act on the second drive: a second, or a quarter of before if shorter.
_LONG_S, _LONG_SHARE = 1.0, 0.25
_OVERLAP = 0.5


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
            f"{listing(_called(p.cause) for p in found)} {verb}"
            for state, verb in _VERBS.items()
            if (found := self.unexpected(state))
        ]
        if self.strangers:
            parts.append(f"new: {listing(_called(c) for c in self.strangers)}")
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
    known |= {id(c) for c in after.causes for p in proven if _about_the_same(p.cause, c)}
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
    now = _now(cause, after, second, known)
    if now is not None and not _other_numbers(cause, now, known):
        return Proven(cause, "remains", covered, _remains(cause, now), now)
    asked = _would_act(known) if known else None
    enough = min(_LONG_S, _LONG_SHARE * cause.seconds)
    lacking = bool(known) and all(np.isnan(values).all() for _, values in known)
    if lacking:
        return Proven(cause, "not shown", covered, _lacks(cause))
    if covered >= _VISITED and (asked is None or asked >= enough):
        return Proven(cause, "gone", covered, _gone(cause, covered, asked, now), now)
    return Proven(cause, "not shown", covered, _not_shown(cause, covered, asked), now)


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


def _now(
    cause: Cause,
    after: Statement,
    second: Sequence[Drive | None],
    known: Sequence[tuple[Drive, FloatArray]],
) -> Cause | None:
    """The cause of the second drive that is this one again."""
    named = next((c for c in after.causes if _same(cause, c)), None)
    if named is not None:
        return named
    if cause.kind not in ("hidden rule", "unknown"):
        return None
    values = {id(drive): posted for drive, posted in known}
    for other in after.causes:
        if other.kind not in ("hidden rule", "unknown") or other.degrees * cause.degrees <= 0:
            continue
        rows, overlap = 0, 0
        for number, drive in each(second):
            acts = acting(other, number, drive, after)
            would = np.abs(np.nan_to_num(values.get(id(drive), np.zeros(acts.shape))))
            rows += int(acts.sum())
            overlap += int((acts & (would > drive.ledger.tolerance)).sum())
        if rows and overlap >= _OVERLAP * rows:
            return other
    return None


def _same(one: Cause, other: Cause) -> bool:
    """Whether two statements mean the same by a cause.

    A correction that stays silent where the sheet has it is the opposite of one that is posted, and
    its degrees have the other sign.
    """
    if not _about_the_same(one, other):
        return False
    posted = one.entry is not None and other.entry is not None
    return posted or one.degrees * other.degrees >= 0


def _about_the_same(one: Cause, other: Cause) -> bool:
    """Whether two causes are about one correction, one channel, or one thing of its kind."""
    if one.correction is not None or other.correction is not None:
        return one.correction == other.correction
    if one.channel is not None or other.channel is not None:
        return one.channel == other.channel
    return one.kind == other.kind and one.kind not in ("hidden rule", "unknown")


def _other_numbers(cause: Cause, now: Cause, known: Sequence[tuple[Drive, FloatArray]]) -> bool:
    """Whether what was not the first sheet's correction now has other numbers than it had."""
    if cause.kind not in ("other revision", "hidden rule") or now.kind == cause.kind:
        return False
    off, size = 0.0, 0.0
    for drive, values in known:
        posted = next((e.values for e in drive.ledger.entries if e.correction == now.entry), None)
        if posted is None:
            continue
        rows = drive.counted & (np.abs(np.nan_to_num(values)) > drive.ledger.tolerance)
        off += float(np.abs(np.nan_to_num(posted[rows]) - values[rows]).sum())
        size += float(np.abs(values[rows]).sum())
    return size == 0.0 or off > 0.25 * size


def _would_act(known: Sequence[tuple[Drive, FloatArray]]) -> float:
    """Seconds of the second drive in which it would have acted, had it still been there."""
    return sum(
        drive.seconds(drive.counted & (np.abs(np.nan_to_num(values)) > drive.ledger.tolerance))
        for drive, values in known
    )


# ---- in words


def _called(cause: Cause) -> str:
    if cause.correction:
        return f"'{cause.correction}'"
    return {"hidden rule": "the hidden rule", "unknown": "what nothing explained"}.get(
        cause.kind, f"the {cause.kind}"
    )


def _silent(cause: Cause) -> bool:
    """Whether the cause is a correction of the sheet that the ECU did not post."""
    return cause.entry is None and any("should have acted" in p.says for p in cause.evidence)


def _was(cause: Cause) -> str:
    if _silent(cause):
        return (
            f"{_called(cause)} stayed silent for {seconds(cause.seconds)}, where the sheet has "
            f"{degrees(-cause.degrees)}"
        )
    return f"{_called(cause)} was {degrees(cause.degrees)} for {seconds(cause.seconds)}"


def _remains(cause: Cause, now: Cause) -> str:
    if _silent(cause):
        return sentence(f"{_was(cause)}; so it does now, for {seconds(now.seconds)}")
    text = f"{_was(cause)} and is {degrees(now.degrees)} for {seconds(now.seconds)} now"
    return sentence(f"{text}; expected" if now.expected else text)


def _gone(cause: Cause, covered: float, asked: float | None, now: Cause | None) -> str:
    text = f"{_was(cause)}; {share(covered)} of where it acted was driven again"
    if asked is not None:
        text += f", where it would have acted for {seconds(asked)}"
    if _silent(cause):
        return sentence(f"{text}, and it acts")
    if now is None:
        return sentence(f"{text}, and nothing of it is left")
    return sentence(f"{text}; the ECU now posts {degrees(now.degrees)}, with other numbers")


def _not_shown(cause: Cause, covered: float, asked: float | None) -> str:
    text = f"{_was(cause)}; only {share(covered)} of where it acted was driven again"
    if covered >= _VISITED and asked is not None:
        text = (
            f"{_was(cause)}; the second drive went there, but not under its conditions: it would "
            f"have acted for {seconds(asked)}"
        )
    return sentence(f"{text}. Not shown is not fixed: drive there again")


def _lacks(cause: Cause) -> str:
    return sentence(
        f"{_was(cause)}; the second log does not carry what it reads, so nothing is shown of it"
    )
