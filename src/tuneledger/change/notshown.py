"""What of an edit a drive does not show: cells that were not reached, corrections at rest."""

from collections.abc import Iterator, Sequence

from tuneledger.arrays import BoolArray
from tuneledger.calibrations.model import Correction
from tuneledger.change.reached import Reached, changed_tables
from tuneledger.evaluate.model import Inputs
from tuneledger.explain.sheets import LaidSheet, same_correction
from tuneledger.wording import count, listing, quantity

_FEW_CELLS = 4


def not_shown(
    old: LaidSheet, new: LaidSheet, inputs: Inputs, counted: BoolArray, changed: Sequence[str]
) -> Iterator[str]:
    """Clauses on what was changed and not driven.

    counted: rows that may be judged; changed: ids of the corrections that work otherwise
    """
    for table in changed_tables(old, new, inputs, counted):
        if table.unread:
            yield _unread(table)
    silent = [name for name in changed if _is_silent(name, old, new, counted)]
    if silent:
        corrections = [new.correction(name) or old.correction(name) for name in silent]
        verb, whose = ("acts", "its change") if len(silent) == 1 else ("act", "their changes")
        yield f"{_names(corrections)} never {verb} on this drive: nothing is shown of {whose}"
    asleep = [
        one
        for one in new.calibration.spark.correction
        if (theirs := old.correction(one.id)) is not None
        and not (same_correction(theirs, one) or one.enabled or theirs.enabled)
    ]
    if asleep:
        verb, whose = ("is", "its change does") if len(asleep) == 1 else ("are", "their changes do")
        yield f"{_names(asleep)} {verb} switched off before and after: {whose} nothing"


def _unread(table: Reached) -> str:
    """Changed cells that this drive never reads."""
    unread, of = table.unread, len(table.cells)
    shown = [", ".join(map(quantity, cell, table.units)) for cell in unread[:_FEW_CELLS]]
    more = [f"{len(unread) - _FEW_CELLS} more"] if len(unread) > _FEW_CELLS else []
    where = "; ".join([*shown, *more])
    if of == 1:
        return (
            f"the changed cell of {table.called} ({where}) was not reached on this drive: nothing "
            "is shown of it"
        )
    if len(unread) == of:
        return (
            f"none of the {of} changed cells of {table.called} was reached on this drive, nothing "
            f"is shown of them: {where}"
        )
    was, them = ("was", "it") if len(unread) == 1 else ("were", "them")
    return (
        f"{len(unread)} of {count(of, 'changed cell')} of {table.called} {was} not reached on this "
        f"drive, nothing is shown of {them}: {where}"
    )


def _is_silent(name: str, old: LaidSheet, new: LaidSheet, counted: BoolArray) -> bool:
    """Whether a correction is known not to act on this drive, before or after."""
    parts = [laid.parts[name] for laid in (old, new) if name in laid.parts]
    acts = any((part.active & counted).any() for part in parts)
    return not acts and all(part.computable[counted].all() for part in parts)


def _names(corrections: Sequence[Correction | None]) -> str:
    return listing([one.called for one in corrections if one is not None])
