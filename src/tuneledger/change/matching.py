"""Which cause of a second drive is the same as one of the first."""

from collections.abc import Sequence

import numpy as np

from tuneledger.arrays import FloatArray
from tuneledger.change.visited import Drive, acting, each
from tuneledger.explain.model import Cause
from tuneledger.statement.model import Statement

_LESS = 0.75  # of what it would have taken: below that it was eased
OVERLAP = 0.5  # of the rows of the second cause, in which the first would act


def again(
    cause: Cause,
    after: Statement,
    second: Sequence[Drive | None],
    known: Sequence[tuple[Drive, FloatArray]],
) -> Cause | None:
    """The cause of the second drive that is this one again."""
    named = next((c for c in after.causes if same(cause, c)), None)
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
        if rows and overlap >= OVERLAP * rows:
            return other
    return None


def same(one: Cause, other: Cause) -> bool:
    """Whether two statements mean the same by a cause.

    A correction that stays silent where the sheet has it is the opposite of one that is posted, and
    its degrees have the other sign.
    """
    if not about_the_same(one, other):
        return False
    posted = one.entry is not None and other.entry is not None
    return posted or one.degrees * other.degrees >= 0


def about_the_same(one: Cause, other: Cause) -> bool:
    """Whether two causes are about one correction, one channel, or one thing of its kind."""
    if one.correction is not None or other.correction is not None:
        return one.correction == other.correction
    if one.channel is not None or other.channel is not None:
        return one.channel == other.channel
    return one.kind == other.kind and one.kind not in ("hidden rule", "unknown")


def other_numbers(cause: Cause, now: Cause, known: Sequence[tuple[Drive, FloatArray]]) -> bool:
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


def takes_less(now: Cause, known: Sequence[tuple[Drive, FloatArray]]) -> bool:
    """Whether it still takes, and less than it would as it was, where it would on these drives."""
    took, would = 0.0, 0.0
    for drive, values in known:
        posted = next((e.values for e in drive.ledger.entries if e.correction == now.entry), None)
        if posted is None:
            continue
        rows = drive.counted & (np.nan_to_num(values) < -drive.ledger.tolerance)
        took -= float(np.nan_to_num(posted[rows]).sum())
        would -= float(values[rows].sum())
    return 0.0 < took < _LESS * would
