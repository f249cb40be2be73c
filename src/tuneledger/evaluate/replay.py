"""A calibration carried out over a log's inputs."""

from collections.abc import Mapping
from dataclasses import replace

import numpy as np

from tuneledger.arrays import FloatArray
from tuneledger.calibrations.model import Calibration, Correction
from tuneledger.calibrations.named import named_corrections
from tuneledger.evaluate.combine import LIMIT, combine
from tuneledger.evaluate.corrections import carry_out, table_values
from tuneledger.evaluate.model import Contribution, Inputs, Replay, Source
from tuneledger.evaluate.readings import missing_names
from tuneledger.evaluate.truth import Truth, sure

__all__ = ["LIMIT", "combine", "contributions", "map_advance", "replay"]


def map_advance(calibration: Calibration, inputs: Inputs) -> tuple[FloatArray, tuple[str, ...]]:
    """The main map's value per sample in degrees, and the names of inputs that the log lacks.

    NaN where an input is missing or a cell that nobody knows is needed.
    """
    values, _ = table_values(calibration.spark.map, inputs, {})
    return values, missing_names(calibration.spark.map, inputs)


def contributions(
    calibration: Calibration,
    inputs: Inputs,
    *,
    file: str = "",
    switched: Mapping[str, bool] | None = None,
) -> tuple[Contribution, ...]:
    """Every correction of the sheet in its order, each as if it were enabled.

    file:     the sheet's file, for `Contribution.source`
    switched: correction id → on or off, in place of the sheet's `enabled`. It decides only what a
              condition on another correction sees: one that is off is never active there.

    `missing` also names what an earlier correction lacks on whose activity this one depends.
    """
    parts: list[Contribution] = []
    active: dict[str, Truth] = {}
    lacking: dict[str, tuple[str, ...]] = {}
    for index, correction in enumerate(calibration.spark.correction):
        source = Source(file, calibration.revision, f"spark.correction[{index}]")
        part, truth = carry_out(correction, inputs, active, source)
        inherited = [n for c in named_corrections(correction) for n in lacking.get(c, ())]
        part = replace(part, missing=tuple(dict.fromkeys([*part.missing, *inherited])))
        parts.append(part)
        if _enabled(correction, switched):
            active[correction.id], lacking[correction.id] = truth, part.missing
        else:
            active[correction.id] = sure(np.zeros_like(truth.certain))
    return tuple(parts)


def replay(
    calibration: Calibration,
    inputs: Inputs,
    *,
    start: FloatArray | None = None,
    switched: Mapping[str, bool] | None = None,
    file: str = "",
) -> Replay:
    """The enabled corrections at work, from the sheet's map or a given start to delivered.

    start:    a scheduled advance in degrees, such as the log's. What `scheduled_includes` names is
              then in it already: it does not act again, and its entry is 0
    switched: correction id → on or off, in place of the sheet's `enabled`

    A correction that the ECU works out itself (neither table nor amount) is not computable, and
    with it delivered: use `contributions` and `combine` with what the log says of it.
    """
    spark = calibration.spark
    included = () if start is None else spark.scheduled_includes
    scheduled = map_advance(calibration, inputs)[0] if start is None else start
    parts = contributions(calibration, inputs, file=file, switched=switched)
    enabled = [c.id for c in spark.correction if _enabled(c, switched)]
    acting = [p for p in parts if p.correction in enabled and p.correction not in included]
    result = combine(scheduled, acting, spark.limits)
    posted = {name: np.zeros_like(scheduled) for name in enabled}  # in the sheet's order
    return replace(result, entries=posted | result.entries)


def _enabled(correction: Correction, switched: Mapping[str, bool] | None) -> bool:
    return (switched or {}).get(correction.id, correction.enabled)
