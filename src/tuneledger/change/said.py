"""A rehearsal in words: what moves, how sure that is, what the log would have to carry."""

from collections.abc import Iterator, Sequence

import numpy as np

from tuneledger.arrays import BoolArray, FloatArray
from tuneledger.change.anew import under_their_names
from tuneledger.change.contradicted import contradicted, worth
from tuneledger.change.notshown import not_shown
from tuneledger.change.raises import raised_words
from tuneledger.change.rehearsal import LEAST_DEG, Rehearsal
from tuneledger.change.replay import same_table
from tuneledger.evaluate.model import Evidence, Inputs
from tuneledger.explain.model import Need
from tuneledger.explain.sheets import LaidSheet
from tuneledger.ledger.model import Ledger
from tuneledger.wording import (
    count,
    degree_span,
    degrees,
    listing,
    seconds,
    share,
)

NOT_REPLAYED = (
    "what the advance does back to the engine (speed, load) is not replayed: a car that pulls "
    "otherwise is driven otherwise"
)
_BORNE_OUT = 0.8


def headline(rehearsal: Rehearsal) -> str:
    """What the edit would have done on this drive, in a sentence or two; danger first."""
    text = _on_this_drive(rehearsal)
    unseen = f"{listing(raised_words(rehearsal.unseen))}, where this drive never was"
    more = [unseen] if rehearsal.unseen else []
    more += [listing(rehearsal.limits)] if rehearsal.limits else []
    if more and not text.startswith(("Care", "Cannot tell")):
        text = f"Care: {_lowered(text)}"
    text += "".join(f" It {one}." for one in more)
    return " ".join([with_care(text, rehearsal.eased), *contradicted(rehearsal)])


def with_care(text: str, eased: Sequence[str]) -> str:
    """A headline that says that a protection is eased, whatever this drive shows; danger first."""
    if not eased:
        return text
    if text.startswith("Care"):
        return f"{text} It {listing(eased)}."
    care = f"Care: it {listing(eased)}. Ask first what that is there for."
    return f"{text} {care}" if text.startswith("Cannot tell") else f"{care} {text}"


def _on_this_drive(rehearsal: Rehearsal) -> str:
    edit, moving = _edit(rehearsal), rehearsal.moving
    under = _lowered(edit)
    if not moving.any():
        if rehearsal.open.any():
            return f"Cannot tell: what {under} would do here cannot be computed from this log."
        return (
            f"Nothing moves on this drive under {under}: what it changes was not reached, or comes "
            "to the same."
        )
    moved = rehearsal.moves[moving]
    text = f"{edit} would move delivered by {_size(moved)} for {seconds(rehearsal.seconds(moving))}"
    if rehearsal.adds_under_load > _tolerance(rehearsal):
        return (
            f"Care: {_lowered(text)}, and add up to {degrees(rehearsal.adds_under_load)} under "
            "load. Ask first why it was taken; then small steps, knock and exhaust watched."
        )
    dragged = [shift for shift in rehearsal.shifts if not shift.edited]
    if not dragged:
        return f"{text}; nothing else moves with it."
    names = listing(f"{s.called} ({degrees(s.mean_deg)})" for s in dragged[:3])
    return f"{text}. Besides the edit moves {names}."


def notes(
    rehearsal: Rehearsal,
    old: LaidSheet,
    new: LaidSheet,
    inputs: Inputs,
    changed: Sequence[str],
) -> tuple[str, ...]:
    """How sure it is, and what the log does not show; last what the plain statement noted."""
    own = [
        *_beyond(rehearsal, new),
        *worth(rehearsal, changed),
        *_not_borne_out(rehearsal, old, new, changed),
        *([rehearsal.given_up.says] if rehearsal.given_up else []),
        *_kept(rehearsal),
        *_open(rehearsal),
        *not_shown(old, new, inputs, rehearsal.counted, changed),
        NOT_REPLAYED,
    ]
    return tuple(dict.fromkeys([*own, *rehearsal.statement.notes]))


def needs(old: LaidSheet, new: LaidSheet, changed: Sequence[str]) -> tuple[Need, ...]:
    """What the log lacks for the edit to be computed."""
    out: dict[str, Need] = {}
    if not same_table(old.calibration.spark.map, new.calibration.spark.map):
        for name in dict.fromkeys((*old.map_missing, *new.map_missing)):
            out[name] = Need(name, "the changed main map reads it and the log does not carry it")
    for correction in changed:
        for laid in (old, new):
            part = laid.parts.get(correction)
            for name in part.missing if part else ():
                why = f"the changed correction '{correction}' reads it and the log lacks it"
                out.setdefault(name, Need(name, why))
    return tuple(out.values())


def _beyond(rehearsal: Rehearsal, new: LaidSheet) -> Iterator[str]:
    """Rehearsed beyond the edited sheet's limits, which only what nobody accounts for can do."""
    limits, ledger = new.calibration.spark.limits, rehearsal.ledger
    if limits is None or ledger is None:
        return
    outcome = np.nan_to_num(ledger.delivered)
    for limit, side, rows in (
        (limits.highest, "above the highest", outcome - (limits.highest or 0.0)),
        (limits.lowest, "below the lowest", (limits.lowest or 0.0) - outcome),
    ):
        beyond = rehearsal.counted & (rows > ledger.tolerance)
        if limit is not None and beyond.any():
            yield (
                f"beyond the limits: {seconds(rehearsal.seconds(beyond))} stand up to "
                f"{degrees(float(rows[beyond].max()), signed=False)} {side} that the sheet allows "
                f"({degrees(limit)})"
            )


def _not_borne_out(
    rehearsal: Rehearsal, old: LaidSheet, new: LaidSheet, changed: Sequence[str]
) -> Iterator[str]:
    """Edited corrections that the log does not show as the sheet has them."""
    account = rehearsal.statement.logs[0].ledger
    assert account is not None
    ledger = under_their_names(account, rehearsal.statement.causes)
    entries = {entry.correction: entry for entry in ledger.entries}
    for name in changed:
        correction = old.correction(name)
        if correction is None or not correction.enabled:
            continue
        entry = entries.get(name)
        if entry is None:
            yield (
                f"the log does not show {correction.called} at work where the sheet has it: the "
                "edit is computed from the sheet alone"
            )
        elif entry.evidence == Evidence.INFERRED:
            yield (
                f"the log shows {correction.called} with other numbers than the sheet's; what it "
                "shows is what the edit replaces"
            )
        else:
            right = _right(ledger, np.abs(np.nan_to_num(entry.values)) > ledger.tolerance)
            if right is not None and right < _BORNE_OUT:
                yield (
                    f"where {correction.called} acts the account balances in only {share(right)} "
                    "of the samples"
                )


def _right(ledger: Ledger, acts: BoolArray) -> float | None:
    left = ledger.beyond_leeway
    told = acts & np.isfinite(left)
    if not told.any():
        return None
    return float((np.abs(left[told]) <= 2 * ledger.tolerance + ledger.slack[told]).mean())


def _kept(rehearsal: Rehearsal) -> Iterator[str]:
    """What nobody accounts for stays as it was."""
    ledger = rehearsal.statement.logs[0].ledger
    assert ledger is not None
    left = ledger.beyond_leeway
    rows = rehearsal.counted & (np.abs(np.nan_to_num(left)) > ledger.tolerance + ledger.slack)
    lasts = rehearsal.seconds(rows)
    if lasts > 0.5:
        yield (
            f"for {seconds(lasts)} nothing accounts for {_size(left[rows])}; that is kept as it was"
        )


def _open(rehearsal: Rehearsal) -> Iterator[str]:
    rows = rehearsal.open
    if rows.any():
        yield (
            f"in {share(float(rows.sum() / rehearsal.counted.sum()))} of the run "
            f"({seconds(rehearsal.seconds(rows))}) what the edit does cannot be computed; it is "
            "left empty there"
        )


def _size(values: FloatArray) -> str:
    """`−2.4° on average (−4.1° to −0.3°)`, or one number where they are alike."""
    mean, low, high = float(values.mean()), float(values.min()), float(values.max())
    if high - low < 0.3:
        return degrees(mean)
    return f"{degrees(mean)} on average ({degree_span(low, high)})"


def _edit(rehearsal: Rehearsal) -> str:
    before = rehearsal.statement.sheets[0].calibration.revision
    after = rehearsal.edited.revision
    if not rehearsal.changes:
        return f"Revision {before} without a change"
    if after != before:
        return f"Revision {after} in place of {before}"
    return f"Revision {before} with {count(len(rehearsal.changes), 'change')}"


def _tolerance(rehearsal: Rehearsal) -> float:
    return rehearsal.ledger.tolerance if rehearsal.ledger else LEAST_DEG


def _lowered(text: str) -> str:
    return text[:1].lower() + text[1:]
