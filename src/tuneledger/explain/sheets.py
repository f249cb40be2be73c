"""A supplied sheet laid over a log: its map and every one of its corrections, row by row."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from functools import cached_property

import numpy as np

from tuneledger.arrays import FloatArray
from tuneledger.calibrations.model import Calibration, Correction, Table
from tuneledger.evaluate.combine import combine
from tuneledger.evaluate.model import Contribution, Evidence, Inputs
from tuneledger.evaluate.replay import contributions, map_advance
from tuneledger.explain.grain import Grain
from tuneledger.explain.otherwise import Otherwise, otherwise
from tuneledger.record import record


class Resolution:
    """By how much a sheet's tables may be off, since the log has what they read in steps and at
    times of its own."""

    def __init__(self, calibration: Calibration, grain: Grain) -> None:
        spark = calibration.spark
        self._tables: dict[str, Table] = {"": spark.map, **{c.id: c for c in spark.correction}}
        self._grain = grain
        self._found: dict[str, FloatArray | None] = {}

    def of(self, name: str) -> FloatArray | None:
        """Degrees per row that half a logged step of each input is worth, and for a correction what
        it may move between two of its samples; worked out once asked.

        name: a correction's id, "" for the map
        None where the log lacks an input, or the sheet the table.
        """
        if name not in self._found:
            table = self._tables.get(name)
            worth = None if table is None else self._grain.worth(table)
            if table is not None and worth is not None and name:
                unseen = self._grain.unseen(table)
                worth = worth if unseen is None else worth + unseen
            self._found[name] = worth
        return self._found[name]

    @cached_property
    def unseen(self) -> FloatArray | None:
        """Degrees per row by which the map may have moved between two samples of what it reads;
        None where every row has samples of it."""
        return self._grain.unseen(self._tables[""])


@record
class Inside:
    """Corrections that the logged scheduled advance turned out to contain.

    sure: False where another map would look the same in these logs; nothing is then made of it
    """

    corrections: tuple[str, ...]
    sure: bool


@record(eq=False)
class LaidSheet:
    """One sheet over one log.

    index:       place in the order in which the sheets were given; 0 is said to run
    map_values:  the main map per row; NaN where not computable
    map_missing: inputs of the map that the log does not carry
    asked:       what a logged scheduled channel should say: the map, and what `scheduled_includes`
    parts:       every correction, switched on or not, by id
    resolution:  how far the map and each table may be off, because the log rounds what they read
    doubt:       corrections of which the log cannot everywhere tell on which side of a threshold
                 their input was, with what bounds their postings
    inside:      what the logged scheduled advance contains beside what the sheet says it does
    """

    index: int
    file: str
    calibration: Calibration
    map_values: FloatArray
    map_missing: tuple[str, ...]
    asked: FloatArray
    parts: Mapping[str, Contribution]
    resolution: Resolution
    doubt: Mapping[str, Otherwise]
    inside: Inside | None = None

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


def says_nothing(sheet: LaidSheet) -> bool:
    """Whether nothing in a sheet can be held against the log: its map is open wherever the log has
    been, it has no number for a correction, and it does not claim that there is none."""
    spark = sheet.calibration.spark
    return not (
        spark.complete
        or np.isfinite(sheet.map_values).any()
        or any(_speaks(c) for c in spark.correction if c.enabled)
    )


def _speaks(correction: Correction) -> bool:
    """Whether a correction has a number, or a channel that carries it."""
    if correction.logged_as is not None or not correction.has_numbers:
        return True
    return bool(np.isfinite(correction.grid).any())


def lay(
    index: int, file: str, calibration: Calibration, inputs: Inputs, grain: Grain | None = None
) -> LaidSheet:
    """Evaluate a sheet over a log's inputs.

    grain: how finely the log has its numbers, where several sheets are laid over one log
    """
    grain = grain or Grain(inputs)
    values, missing = map_advance(calibration, inputs)
    parts = contributions(calibration, inputs, file=file)
    return LaidSheet(
        index=index,
        file=file,
        calibration=calibration,
        map_values=values,
        map_missing=missing,
        asked=_asked(calibration, values, parts),
        parts={part.correction: part for part in parts},
        resolution=Resolution(calibration, grain),
        doubt=otherwise(calibration, inputs, grain, file=file),
    )


def _asked(
    calibration: Calibration, values: FloatArray, parts: Iterable[Contribution]
) -> FloatArray:
    """What a logged scheduled channel should say, given what the map does."""
    spark = calibration.spark
    on = {c.id for c in spark.correction if c.enabled and c.id in spark.scheduled_includes}
    inside = [part for part in parts if part.correction in on]
    return combine(values, inside, None).delivered if inside else values


def containing(sheet: LaidSheet, corrections: Iterable[str]) -> LaidSheet:
    """The sheet as if it said that the scheduled channel contains some more of its corrections."""
    spark = sheet.calibration.spark
    more = [c for c in corrections if spark.find(c) and c not in spark.scheduled_includes]
    spark = spark.model_copy(update={"scheduled_includes": (*spark.scheduled_includes, *more)})
    calibration = sheet.calibration.model_copy(update={"spark": spark})
    asked = _asked(calibration, sheet.map_values, sheet.parts.values())
    return replace(sheet, calibration=calibration, asked=asked)


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
    if one is other:
        return True
    remarks = {"title": "", "expected": None, "logged_as": None, "reason": "other"}
    return one.model_copy(update=remarks) == other.model_copy(update=remarks)
