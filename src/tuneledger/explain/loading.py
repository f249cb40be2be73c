"""What loading the supplied revision would change, beside what the log shows: all of it.

Whoever loads a file to win back some degrees switches on every other difference too, and most of
them in places that the run never reached.
"""

from collections.abc import Iterator, Sequence

import numpy as np

from tuneledger.arrays import FloatArray
from tuneledger.calibrations.model import Correction, Limits
from tuneledger.evaluate.readings import read
from tuneledger.explain.finding import Finding
from tuneledger.explain.model import Running
from tuneledger.explain.nextstep import PROTECTING
from tuneledger.explain.sheets import LaidSheet, same_correction
from tuneledger.record import record
from tuneledger.wording import count, degree_span, degrees, quantity

_MOST_CELLS = 4  # as many as a sentence bears
_LEAST_RAISE = 0.05  # degrees that would be shown as none


@record
class Difference:
    """One thing that would change: `what` in words; whether the logs were where it shows.

    raises: degrees by which it may add advance; 0 where it does not, or that cannot be told
    """

    what: str
    seen: bool
    raises: float = 0.0


@record
class Loading:
    """The supplied revision in place of the one that is in the car, as the logs show it.

    revision, in_car: their names, or their files where both have one name (`by_file`)
    """

    revision: str
    in_car: str
    differences: tuple[Difference, ...]
    by_file: bool = False

    @property
    def called(self) -> str:
        """`revision D`; the file where both have one name."""
        return self.revision if self.by_file else f"revision {self.revision}"

    @property
    def sentences(self) -> tuple[str, ...]:
        """What it would change, one sentence each, what was not driven first said so."""
        head = f"{self.called} in place of {self.in_car} would change"
        seen = [d.what for d in self.differences if d.seen]
        unseen = [d.what for d in self.differences if not d.seen]
        out = []
        if unseen:
            out.append(f"{head}, unseen in these logs: {'; '.join(unseen)}")
        if seen:
            out.append(f"{head}, seen in these logs: {'; '.join(seen)}")
        return (*out, "save what is in the car before anything is loaded") if out else ()


def loading(findings: Sequence[Finding], running: Running | None) -> Loading | None:
    """What loading the first sheet would change; None where it is in the car, or nothing fits."""
    if running is None or running.best is None:
        return None
    laid = findings[0].laid
    in_car = next((sheet for sheet in laid if sheet.file == running.in_car), laid[0])
    if in_car.index == 0:
        return None
    found = tuple(sorted(differences(findings, laid[0], in_car), key=lambda d: -d.raises))
    if not found:
        return None
    if laid[0].revision == in_car.revision:
        return Loading(laid[0].file, in_car.file, found, by_file=True)
    return Loading(laid[0].revision, in_car.revision, found)


def differences(
    findings: Sequence[Finding], new: LaidSheet, old: LaidSheet
) -> Iterator[Difference]:
    """All that one supplied sheet has otherwise than another."""
    yield from _corrections(findings, new, old)
    yield from _map(findings, new, old)
    limits = new.calibration.spark.limits
    if limits != old.calibration.spark.limits:
        yield Difference(f"the advance is held {_held(limits)}", seen=False)


def _corrections(
    findings: Sequence[Finding], new: LaidSheet, old: LaidSheet
) -> Iterator[Difference]:
    names = dict.fromkeys((*new.parts, *old.parts))
    for name in names:
        theirs, ours = new.correction(name), old.correction(name)
        on, was_on = bool(theirs and theirs.enabled), bool(ours and ours.enabled)
        if not (on or was_on) or (on and was_on and same_correction(theirs, ours)):
            continue
        seen = any(
            _acts(f, sheet, name)
            for f in findings
            for sheet, enabled in ((f.laid[new.index], on), (f.laid[old.index], was_on))
            if enabled
        )
        new_one, old_one = theirs if on else None, ours if was_on else None
        says = _with_raise(_change(new_one, old_one), new_one, old_one)
        yield Difference(says, seen, raises=_raise(new_one, old_one))


def _acts(finding: Finding, sheet: LaidSheet, name: str) -> bool:
    part = sheet.parts.get(name)
    if part is None:
        return False
    size = np.abs(np.nan_to_num(part.values)) > finding.book.tolerance
    return bool((part.active & size & finding.book.judged).any())


def _raise(new: Correction | None, old: Correction | None) -> float:
    """Degrees by which the change may add advance at the most; 0 where that cannot be told."""
    sizes = [one.grid if one is not None else np.zeros(()) for one in (new, old)]
    if any(one is not None and one.effect != "add" for one in (new, old)):
        return 0.0
    alike = new is not None and old is not None and new.axes == old.axes
    after, before = sizes if alike else (np.nanmax(sizes[0]), np.nanmin(sizes[1]))
    more = np.asarray(after - before)
    return float(np.nanmax(more, initial=0.0)) if np.isfinite(more).any() else 0.0


def _with_raise(says: str, new: Correction | None, old: Correction | None) -> str:
    """The change, and that it adds advance, in the degrees a reader would have to subtract."""
    more = _raise(new, old)
    if more < _LEAST_RAISE:
        return says
    reason = next((one.reason for one in (old, new) if one is not None), "other")
    guards = f"; it protects the engine ({reason})" if reason in PROTECTING else ""
    return f"{says}: up to {degrees(more, signed=False)} more advance{guards}"


def _change(new: Correction | None, old: Correction | None) -> str:
    if old is None:
        assert new is not None
        return f"{new.called} comes on{_size(new)}"
    if new is None:
        return f"{old.called} goes off{_size(old)}"
    before, after = _span(old), _span(new)
    if before != after:
        return f"{new.called} can move the advance by {after} instead of {before}"
    if new.grid.shape == old.grid.shape and not np.array_equal(new.grid, old.grid, equal_nan=True):
        return f"{new.called} has other numbers, again within {after}"
    return f"{new.called} acts under other conditions or along other points"


def _size(correction: Correction) -> str:
    span = _span(correction)
    return f" ({span})" if span else ""


def _span(correction: Correction) -> str:
    known = correction.grid[np.isfinite(correction.grid)]
    if known.size == 0:
        return ""
    if known.size == 1 or np.ptp(known) == 0:
        return degrees(float(known.flat[0]))
    return degree_span(float(known.min()), float(known.max()))


def _map(findings: Sequence[Finding], new: LaidSheet, old: LaidSheet) -> Iterator[Difference]:
    """The cells that differ, those that the run visited apart from those that it did not."""
    after, before = new.calibration.spark.map, old.calibration.spark.map
    if after == before:
        return
    if after.axes != before.axes or after.grid.shape != before.grid.shape:
        yield Difference("the main map has other axes", seen=True)
        return
    gap = after.grid - before.grid
    changed = np.argwhere((np.abs(gap) > 1e-9) | (np.isnan(after.grid) != np.isnan(before.grid)))
    visited = [
        any(_visited(f, new, tuple(cell), gap[tuple(cell)]) for f in findings)
        for cell in changed.tolist()
    ]
    for seen in (False, True):
        cells = [
            tuple(cell) for cell, v in zip(changed.tolist(), visited, strict=True) if v == seen
        ]
        if cells:
            yield Difference(_cells(new, gap, cells), seen)


def _cells(sheet: LaidSheet, gap: FloatArray, cells: Sequence[tuple[int, ...]]) -> str:
    """How many, and those that add most: what only follows "and 9 more" must be the harmless ones.

    A number that one of the sheets leaves open may add anything, and comes first.
    """
    axes = sheet.calibration.spark.map.axes
    told = []
    for cell in sorted(cells, key=lambda cell: -np.nan_to_num(gap[cell], nan=np.inf))[:_MOST_CELLS]:
        at = ", ".join(quantity(axis.at[i], axis.unit) for axis, i in zip(axes, cell, strict=True))
        known = bool(np.isfinite(gap[cell]))
        told.append(f"{degrees(float(gap[cell])) if known else 'nobody knows what'} at {at}")
    more = [f"and {len(cells) - _MOST_CELLS} more"] if len(cells) > _MOST_CELLS else []
    return f"{count(len(cells), 'cell')} of the main map ({'; '.join([*told, *more])})"


def _visited(finding: Finding, sheet: LaidSheet, cell: tuple[int, ...], gap: float) -> bool:
    """Whether the change of a cell would show in any judged row: its share of the look-up there
    times the change goes beyond tolerance. Of a number that a sheet leaves open, half a share."""
    share: FloatArray = np.where(finding.book.judged, 1.0, 0.0)
    for axis, i in zip(sheet.calibration.spark.map.axes, cell, strict=True):
        column = read(axis, finding.book.inputs)
        if column is None:
            return False
        hat = (np.arange(len(axis.at)) == i).astype(np.float64)
        share = share * np.nan_to_num(np.interp(column, axis.at, hat))
    shows = share * abs(gap) > finding.book.tolerance if np.isfinite(gap) else share >= 0.5
    return bool(shows.any())


def _held(limits: Limits | None) -> str:
    if limits is None:
        return "within no limits"
    low = degrees(limits.lowest, signed=False) if limits.lowest is not None else "no lower limit"
    high = degrees(limits.highest, signed=False) if limits.highest is not None else "none above"
    return f"between {low} and {high}"
