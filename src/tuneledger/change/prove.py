"""Proof: a drive before the change, a drive after it; what is gone, what remains, what is new.

A cause is gone only where the second drive went where the first one showed it: what was not driven
is not shown, never fixed.
"""

from collections.abc import Sequence
from dataclasses import replace
from itertools import product
from pathlib import Path

import numpy as np

from tuneledger.arrays import FloatArray, IntArray
from tuneledger.change import labels, one_car
from tuneledger.change.definition import reads, unlogged
from tuneledger.change.matching import about_the_same, again, other_numbers, takes_less
from tuneledger.change.naming import called
from tuneledger.change.proof import Proof, Proven
from tuneledger.change.proof_words import (
    NOT_DRIVEN,
    NOT_LONG,
    NOT_SO,
    VISITED,
    eased_words,
    gone,
    lacks,
    longer_words,
    not_shown,
    remains,
    silent,
)
from tuneledger.change.protection import protects, question
from tuneledger.change.same_log import same_log
from tuneledger.change.visited import Drive, acting, drives_of, dwelt, each, visited, would_post
from tuneledger.errors import Fault, UsageError
from tuneledger.explain.model import Cause
from tuneledger.main_job import reconcile_files
from tuneledger.statement.model import Statement
from tuneledger.wording import listing, sentence

# How long it would have to act on the second drive: a second, or a quarter of before if shorter.
_LONG_S, _LONG_SHARE = 1.0, 0.25
# Of the time that the first drive spent there, where nobody knows what brings the cause on.
_AS_LONG = 0.8
# What acts for so many times as much of a drive, and so many seconds more, acts far more.
_TIMES, _MORE_S = 3.0, 3.0


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
            [*map(Path, logs), *map(Path, sheets)],
            roles_file=roles_file,
            memory=memory,
            keep_own=True,
        )
        for logs in (before, after)
    )
    _refuse_same(first, second)
    return prove_statements(first, second)


def _refuse_same(before: Statement, after: Statement) -> None:
    """A log held against itself would prove that nothing changed."""
    for one, other in product(before.logs, after.logs):
        if same_log(one, other):
            raise UsageError(
                Fault(
                    f"it is the same log as {one.log.file}, which stands before the change",
                    file=other.log.file,
                    do="Name the drive after it: a log held against itself shows nothing.",
                )
            )


def prove_statements(before: Statement, after: Statement) -> Proof:
    """The proof from both statements."""
    first, second = drives_of(before, after)
    been = visited(second)
    proven = tuple(
        _by_own_names(_proven(cause, before, after, first, second, been), before, second)
        for cause in before.causes
    )
    known = {id(p.now) for p in proven if p.now is not None}
    known |= {id(c) for c in after.causes for p in proven if about_the_same(p.cause, c)}
    new = tuple(cause for cause in after.causes if id(cause) not in known)
    weights = [(p.covered, abs(p.cause.seconds)) for p in proven if not p.expected]
    weights = weights or [(p.covered, abs(p.cause.seconds)) for p in proven]
    total = sum(weight for _, weight in weights)
    if total > 0:
        coverage = sum(covered * weight for covered, weight in weights) / total
    else:
        coverage = _went_again(first, been)
    return Proof(before, after, proven, new, coverage, one_car.doubts(first, second))


def _by_own_names(one: Proven, before: Statement, second: Sequence[Drive | None]) -> Proven:
    """With what the second logs call the channels that a rule reads, where it is another name."""
    if one.cause.rule is None:
        return one
    said = {
        f"{name} is {other} in {drive.account.log.file}"
        for name in reads(one.cause, before)
        for _, drive in each(second)
        if (other := drive.inputs.other_name(name)) is not None
    }
    return replace(one, says=f"{one.says} {sentence(listing(sorted(said)))}") if said else one


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
    if cause.kind in labels.KINDS:
        return labels.relabelled(cause, after)
    covered = _covered(cause, before, first, been)
    would = [(drive, would_post(cause, drive, before)) for _, drive in each(second)]
    known = [(drive, values) for drive, values in would if values is not None]
    now = again(cause, after, second, known)
    name = called(cause, before)
    eased = protects(cause, before) if now is not None and takes_less(now, known) else None
    if now is not None and (eased or not other_numbers(cause, now, known)):
        longer = protects(cause, before) if _far_more(cause, now, first, second) else None
        says = remains(cause, now, name)
        says += eased_words(eased) if eased else longer_words(longer) if longer else ""
        return Proven(cause, "remains", covered, says, now, eased=eased, longer=longer)
    asked = _would_act(known) if known else None
    acts = asked is not None and asked >= min(_LONG_S, _LONG_SHARE * cause.seconds)
    if covered >= VISITED and (acts or (asked is None and _as_long(cause, before, first, second))):
        lost = None if now is not None or silent(cause) else protects(cause, before)
        care = f"It protects the engine ({lost}). {question(cause, after, second)}" if lost else ""
        says = gone(cause, name, covered, asked, now, care)
        return Proven(cause, "gone", covered, says, now, protected=lost)
    missing = unlogged(cause, before, [drive.inputs for _, drive in each(second)])
    if known and all(np.isnan(values).all() for _, values in known):
        missing = missing or ("what it reads",)
    if missing and not acts:
        why = lacks(missing)
    elif covered < VISITED:
        why = NOT_DRIVEN
    else:
        why = NOT_LONG if asked is None else NOT_SO
    says = not_shown(cause, name, why, covered, asked)
    return Proven(cause, "not shown", covered, says, now, why)


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


def _far_more(
    cause: Cause, now: Cause, first: Sequence[Drive | None], second: Sequence[Drive | None]
) -> bool:
    """Whether it acts for a far larger part of the second drive than of the first."""
    before, after = (
        sum(drive.seconds(drive.counted) for _, drive in each(drives)) for drives in (first, second)
    )
    more = now.seconds - cause.seconds * after / before if before > 0 else 0.0
    return more >= _MORE_S and now.seconds * before >= _TIMES * cause.seconds * after


def _would_act(known: Sequence[tuple[Drive, FloatArray]]) -> float:
    """Seconds of the second drive in which it would have acted, had it still been there."""
    return sum(
        drive.seconds(drive.counted & (np.abs(np.nan_to_num(values)) > drive.ledger.tolerance))
        for drive, values in known
    )
