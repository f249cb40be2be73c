"""A supplied sheet laid over a log: its map and every one of its corrections, row by row."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from tuneledger.arrays import FloatArray
from tuneledger.calibrations.model import Calibration, Correction, Reading, Table
from tuneledger.evaluate.combine import combine
from tuneledger.evaluate.lookup import sway
from tuneledger.evaluate.model import Contribution, Evidence, Inputs
from tuneledger.evaluate.readings import read
from tuneledger.evaluate.replay import contributions, map_advance
from tuneledger.explain.otherwise import Otherwise, otherwise
from tuneledger.logs.facts import quantisation_step


@dataclass(frozen=True, eq=False)
class LaidSheet:
    """One sheet over one log.

    index:       place in the order in which the sheets were given; 0 is said to run
    map_values:  the main map per row; NaN where not computable
    map_missing: inputs of the map that the log does not carry
    asked:       what a logged scheduled channel should say: the map, and what `scheduled_includes`
    parts:       every correction, switched on or not, by id
    resolution:  degrees by which the map ("") and each table may be off per row, because the log
                 rounds what they read
    doubt:       corrections of which the log cannot everywhere tell on which side of a threshold
                 their input was, with what bounds their postings
    """

    index: int
    file: str
    calibration: Calibration
    map_values: FloatArray
    map_missing: tuple[str, ...]
    asked: FloatArray
    parts: Mapping[str, Contribution]
    resolution: Mapping[str, FloatArray]
    doubt: Mapping[str, Otherwise]

    @property
    def revision(self) -> str:
        return self.calibration.revision

    def correction(self, correction_id: str) -> Correction | None:
        return self.calibration.spark.find(correction_id)

    @property
    def enabled(self) -> tuple[str, ...]:
        """Ids of the corrections that are switched on and that the sheet can work out."""
        spark = self.calibration.spark
        return tuple(c.id for c in spark.correction if c.enabled)


def lay(index: int, file: str, calibration: Calibration, inputs: Inputs) -> LaidSheet:
    """Evaluate a sheet over a log's inputs."""
    values, missing = map_advance(calibration, inputs)
    parts = contributions(calibration, inputs, file=file)
    included = calibration.spark.scheduled_includes
    inside = [
        part
        for part in parts
        if part.correction in included and calibration.spark.find(part.correction).enabled  # type: ignore[union-attr]
    ]
    asked = combine(values, inside, None).delivered if inside else values
    return LaidSheet(
        index=index,
        file=file,
        calibration=calibration,
        map_values=values,
        map_missing=missing,
        asked=asked,
        parts={part.correction: part for part in parts},
        resolution=_resolutions(calibration, inputs),
        doubt=otherwise(calibration, inputs, file=file),
    )


def _resolutions(calibration: Calibration, inputs: Inputs) -> dict[str, FloatArray]:
    spark = calibration.spark
    tables: dict[str, Table] = {"": spark.map, **{c.id: c for c in spark.correction if c.axes}}
    steps: dict[tuple[Any, ...], float] = {}
    found = {name: resolution(table, inputs, steps) for name, table in tables.items()}
    return {name: values for name, values in found.items() if values is not None}


def resolution(
    table: Table, inputs: Inputs, steps: dict[tuple[Any, ...], float]
) -> FloatArray | None:
    """Degrees that half a logged step of each input is worth in the table, per row.

    steps: logged steps found so far, by reading; a log's channels are looked at once
    """
    columns = [read(axis, inputs) for axis in table.axes]
    known = [column for column in columns if column is not None]
    if not known or len(known) < len(columns):
        return None
    widths = []
    for axis, column in zip(table.axes, known, strict=True):
        key = tuple(getattr(axis, name) for name in Reading.model_fields)
        if key not in steps:
            steps[key] = quantisation_step(column) or 0.0
        half = 0.5 * steps[key]
        widths.append(half if half <= 0.25 * np.ptp(axis.points) else 0.0)
    return sway(table, known, widths)


def solid(part: Contribution) -> Contribution:
    """The part with what is not computable taken as nothing, so that the rest can be summed.

    Only for judging what is left over; a ledger keeps such rows empty.
    """
    if part.computable.all():
        return part
    keep = part.computable
    return replace(
        part,
        values=np.where(keep, part.values, 0.0),
        active=part.active & keep,
        computable=np.ones_like(keep),
        weight=np.where(keep, part.weight, 0.0),
    )


def carried(part: Contribution, values: FloatArray) -> Contribution:
    """The part as a log channel carries it, in place of what the sheet would compute."""
    known = np.isfinite(values)
    return replace(
        part,
        effect="add",
        values=values,
        active=known & (values != 0.0),
        computable=known,
        weight=np.ones_like(values),
        evidence=Evidence.LOGGED,
        missing=(),
    )


def label(sheet: LaidSheet, laid: Sequence[LaidSheet]) -> str:
    """What sentences call a sheet: its revision, and its file where two share that name."""
    twins = sum(other.revision == sheet.revision for other in laid)
    return f"{sheet.revision} ({sheet.file})" if twins > 1 else sheet.revision


def same_correction(one: Correction | None, other: Correction | None) -> bool:
    """Whether two revisions have the correction alike: only titles and remarks may differ."""
    if one is None or other is None:
        return False
    remarks = {"title": "", "expected": None, "logged_as": None, "reason": "other"}
    return one.model_copy(update=remarks) == other.model_copy(update=remarks)
