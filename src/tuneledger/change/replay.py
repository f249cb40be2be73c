"""The two replays, under the sheet and under the edited one, and what lies between them."""

from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np

from tuneledger.arrays import BoolArray, FloatArray
from tuneledger.calibrations.model import Correction, Table
from tuneledger.calibrations.named import named_corrections
from tuneledger.evaluate.combine import LIMIT, combine
from tuneledger.evaluate.model import Contribution, Evidence, Replay
from tuneledger.explain.sheets import LaidSheet, carried, same_correction, solid
from tuneledger.ledger.model import Entry, Ledger
from tuneledger.record import record

Acting = dict[str, Contribution]


@record(eq=False)
class Between:
    """New − old, row by row.

    start:   what the account starts from under the edited sheet
    moves:   of delivered; NaN where it is not computable
    entries: the ledger's postings as they would be
    changed: ids of the corrections that the edit changes, adds or takes away, or whose numbers come
             out otherwise since they depend on one that it changes
    """

    start: FloatArray
    moves: FloatArray
    entries: tuple[Entry, ...]
    changed: tuple[str, ...]


def between(ledger: Ledger, old: LaidSheet, new: LaidSheet, *, logged: bool) -> Between:
    """Replay both sheets over one account.

    ledger: the plain account. Where a channel carries a correction, or the log shows it with other
            numbers than the sheet's, what it shows is what the edit takes away; what nothing
            accounts for is touched by no edit
    logged: the account starts from a logged scheduled advance, not from the sheet's map
    """
    start = _start(ledger, old, new, logged=logged)
    before = _posting(ledger, old, logged=logged)
    after = _after(before, old, new, logged=logged)
    changed = tuple(name for name in (*before, *after) if before.get(name) is not after.get(name))
    moves, plain, edited = _moves(
        ledger.scheduled, start, before, after, dict.fromkeys(changed), old, new
    )
    return Between(
        start, moves, _entries(ledger, plain, edited, after, new), tuple(dict.fromkeys(changed))
    )


def _start(ledger: Ledger, old: LaidSheet, new: LaidSheet, *, logged: bool) -> FloatArray:
    if not logged:
        return new.map_values if _map_differs(old, new) else ledger.scheduled
    shift = new.asked - old.asked
    if not _map_differs(old, new):
        shift = np.nan_to_num(shift)
    return ledger.scheduled + shift


def same_table(one: Table, other: Table) -> bool:
    """Whether two tables hold the same; copies, since a grid that was kept cannot be compared."""
    return one.model_copy() == other.model_copy()


def _map_differs(old: LaidSheet, new: LaidSheet) -> bool:
    """Whether the main map, or what a logged scheduled channel already holds, is another."""
    one, other = old.calibration.spark, new.calibration.spark
    if not same_table(one.map, other.map) or one.scheduled_includes != other.scheduled_includes:
        return True
    inside = one.scheduled_includes
    return any(not same_correction(one.find(name), other.find(name)) for name in inside)


def _posting(ledger: Ledger, old: LaidSheet, *, logged: bool) -> Acting:
    """The corrections of the sheet that the account posts, each as it posts it."""
    inside = old.calibration.spark.scheduled_includes if logged else ()
    entries = {entry.correction: entry for entry in ledger.entries}
    out: Acting = {}
    for correction in old.calibration.spark.correction:
        entry = entries.get(correction.id)
        if entry is None or correction.id in inside:
            continue
        part = old.parts[correction.id]
        shown = entry.evidence != Evidence.COMPUTED or not correction.has_numbers
        shown_part = replace(carried(part, entry.values), evidence=entry.evidence)
        out[correction.id] = shown_part if shown else part
    return out


def _after(before: Acting, old: LaidSheet, new: LaidSheet, *, logged: bool) -> Acting:
    """The same under the edited sheet; a correction that the edit leaves alone is the same part."""
    inside = new.calibration.spark.scheduled_includes if logged else ()
    out: Acting = {}
    for correction in new.calibration.spark.correction:
        name = correction.id
        if name in inside:
            continue
        was, part = before.get(name), new.parts[name]
        theirs = old.correction(name)
        if same_correction(theirs, correction) and not _dragged(correction, old, new):
            # What the ECU does, or leaves, against its sheet no edit of another place changes.
            if was is not None:
                out[name] = was
        elif correction.enabled:
            out[name] = _changed(was, part, old.parts.get(name), theirs)
    return out


def _dragged(correction: Correction, old: LaidSheet, new: LaidSheet) -> bool:
    """Whether it asks for the activity of another, and comes out otherwise by that."""
    if not any(named_corrections(correction)):
        return False
    one, other = old.parts[correction.id], new.parts[correction.id]
    pairs = ((one.values, other.values), (one.active, other.active), (one.weight, other.weight))
    return not all(np.array_equal(a, b, equal_nan=a.dtype.kind == "f") for a, b in pairs)


def _changed(
    was: Contribution | None,
    part: Contribution,
    old: Contribution | None,
    theirs: Correction | None,
) -> Contribution:
    """An edited correction that is on: as its numbers give it.

    Where a channel carried it, by as much more or less than it carried as the numbers differ: its
    edges then stay where the channel has them. Where the log only shows it with other numbers than
    the sheet's, the edited sheet's own come in their place.
    """
    if was is None or old is None or was is old:
        return part
    if not np.isfinite(part.values).any() and theirs is not None and not theirs.has_numbers:
        return was  # the ECU works it out by itself; no number of the sheet was changed
    if was.evidence == Evidence.LOGGED and part.effect == "add" == old.effect:
        return carried(part, was.values + (part.values - old.values))
    return part


def _moves(
    start: FloatArray,
    start_after: FloatArray,
    before: Acting,
    after: Acting,
    changed: Mapping[str, None],
    old: LaidSheet,
    new: LaidSheet,
) -> tuple[FloatArray, Replay, Replay]:
    """Delivered's movement, and both replays with what is not computable taken as nothing."""
    limits = old.calibration.spark.limits, new.calibration.spark.limits
    plain = combine(start, [solid(p) for p in before.values()], limits[0])
    edited = combine(start_after, [solid(p) for p in after.values()], limits[1])
    moves = edited.delivered - plain.delivered
    # A changed part must be known; one that the edit leaves alone only where it does not cancel.
    honest = [
        combine(start_, [_as_known(p, changed) for p in parts.values()], limit).delivered
        for start_, parts, limit in (
            (start, before, limits[0]),
            (start_after, after, limits[1]),
        )
    ]
    unsure = np.isnan(honest[1] - honest[0]) & ~np.isnan(moves)
    known = _known([*before.values(), *after.values()], changed, start.shape)
    moves = np.where(unsure & ~(known & (moves == 0.0)), np.nan, moves)
    return moves, plain, edited


def _as_known(part: Contribution, changed: Mapping[str, None]) -> Contribution:
    cancels = part.effect == "add" and part.correction not in changed
    return solid(part) if cancels else part


def _known(
    parts: Sequence[Contribution], changed: Mapping[str, None], shape: tuple[int, ...]
) -> BoolArray:
    known = np.ones(shape, dtype=np.bool_)
    for part in parts:
        if part.correction in changed:
            known &= part.computable
    return known


def _entries(
    ledger: Ledger, plain: Replay, edited: Replay, after: Acting, new: LaidSheet
) -> tuple[Entry, ...]:
    """The ledger's entries with what lies between the replays added, new ones at the end."""
    nothing = np.zeros(ledger.times.shape)
    out = []
    for entry in ledger.entries:
        name = entry.correction
        if name in plain.entries and name not in edited.entries and name != LIMIT:
            out.append(replace(entry, values=nothing.copy()))
            continue
        shift = edited.entries.get(name, nothing) - plain.entries.get(name, nothing)
        values = entry.values + shift
        part = after.get(name)
        if part is not None and shift.any():
            values = np.where(part.computable, values, np.nan)
            values = np.where(
                np.isnan(entry.values) & part.computable, edited.entries[name], values
            )
        out.append(replace(entry, values=values))
    there = {entry.correction for entry in ledger.entries}
    for name, posted in edited.entries.items():
        if name not in there and (name != LIMIT or posted.any()):
            part = after.get(name)
            values = posted if part is None else np.where(part.computable, posted, np.nan)
            out.append(Entry(name, values, Evidence.COMPUTED, revision=new.revision))
    return tuple(out)
