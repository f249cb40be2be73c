"""Two revisions side by side: every place where they differ, corrections matched by their ids."""

from collections.abc import Iterator, Mapping
from typing import Any

from tuneledger.calibrations.model import Calibration, Correction
from tuneledger.calibrations.paths import CORRECTIONS, as_raw
from tuneledger.calibrations.tree import join
from tuneledger.change.edits import Change

# What says something to people and nothing to an ECU.
_REMARKS = ("format", "title", "revision", "saved", "notes")
_REMARKS_OF_CORRECTIONS = ("title", "reason", "expected", "logged_as")


def differences(old: Calibration, new: Calibration) -> tuple[Change, ...]:
    """All that an ECU would do otherwise under `new`, in the order of the sheets.

    Places name corrections by id, so that they hold in both. A table whose axes stay is told cell
    by cell. Titles, notes, reasons and the like are left out: see `remarks`.
    """
    return tuple(change for change in _all(old, new) if not _is_remark(change.place, new, old))


def remarks(old: Calibration, new: Calibration) -> tuple[Change, ...]:
    """Differences that only people read."""
    return tuple(change for change in _all(old, new) if _is_remark(change.place, new, old))


def place_of(correction: str) -> str:
    """The path to a correction by its id, quoted where it holds what a path parts."""
    plain = all(c.isalnum() or c in "-_" for c in correction)
    return f"{CORRECTIONS}.{correction}" if plain else f'{CORRECTIONS}."{correction}"'


def _all(old: Calibration, new: Calibration) -> Iterator[Change]:
    before, after = as_raw(old), as_raw(new)
    before["spark"].pop("correction", None)
    after["spark"].pop("correction", None)
    yield from _between("", before, after)
    yield from _corrections(old, new)


def _corrections(old: Calibration, new: Calibration) -> Iterator[Change]:
    mine = {c.id: c for c in old.spark.correction}
    theirs = {c.id: c for c in new.spark.correction}
    for name in [*mine, *(name for name in theirs if name not in mine)]:
        before, after = _raw(mine.get(name)), _raw(theirs.get(name))
        if before is None or after is None:
            yield Change(place_of(name), before, after)
        else:
            yield from _between(place_of(name), before, after)
    common = [name for name in mine if name in theirs]
    order = [name for name in theirs if name in mine]
    if common != order:
        yield Change(CORRECTIONS, common, order)


def _raw(correction: Correction | None) -> Any:
    return None if correction is None else as_raw(correction)


def _between(place: str, before: Any, after: Any) -> Iterator[Change]:
    if before == after:
        return
    if isinstance(before, Mapping) and isinstance(after, Mapping):
        for key in [*before, *(key for key in after if key not in before)]:
            yield from _between(join(place, key), before.get(key), after.get(key))
        return
    if isinstance(before, list) and isinstance(after, list) and len(before) == len(after):
        for i, (one, other) in enumerate(zip(before, after, strict=True)):
            yield from _between(join(place, i), one, other)
        return
    yield Change(place, before, after)


def _is_remark(place: str, new: Calibration, old: Calibration) -> bool:
    if place in _REMARKS:
        return True
    ids = {c.id for sheet in (old, new) for c in sheet.spark.correction}
    return any(
        place == join(place_of(name), key) for name in ids for key in _REMARKS_OF_CORRECTIONS
    )
