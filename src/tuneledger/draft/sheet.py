"""The drafted sheet: its parts put together, checked, and written with remarks."""

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

import numpy as np

from tuneledger.calibrations.cells import UNKNOWN_CELL
from tuneledger.calibrations.check import check
from tuneledger.calibrations.drafted import NOT_FOR_LOADING, SourceLog, source_lines
from tuneledger.calibrations.model import FORMAT, Calibration
from tuneledger.calibrations.paths import as_raw
from tuneledger.calibrations.write import to_toml
from tuneledger.circular import fingerprint_of
from tuneledger.draft.basemap import drafted_map
from tuneledger.draft.corrections import drafted_corrections, drafted_limits, left_out
from tuneledger.draft.model import DraftedCorrection, DraftedLimits, DraftedMap
from tuneledger.record import record
from tuneledger.roles.inputs import LogInputs
from tuneledger.statement.model import Statement
from tuneledger.wording import bound, listing, quantity, seconds, share, visible

NOTHING_TO_DRAFT = (
    "a map is read out of delivered advance, engine speed and a load (manifold pressure, engine "
    "load, throttle or pedal) that move for some seconds; this log does not show that."
)
_WIDTH = 98


@record
class Draft:
    """A calibration that says what the logs have shown, and its text with remarks."""

    calibration: Calibration
    text: str


def draft_sheet(statement: Statement) -> Draft | None:
    """What the logs of a statement have shown, as a sheet; None where they show no map.

    Without delivered advance, engine speed and a load there is nothing to draft.
    """
    inputs = [
        LogInputs(a.log, a.roles, a.ledger.times) for a in statement.logs if a.ledger is not None
    ]
    found = drafted_map(statement, inputs)
    if found is None:
        return None
    parts = tuple(drafted_corrections(statement, inputs))
    limits = drafted_limits(statement)
    calibration = check(_raw(statement, found, parts, limits))
    return Draft(calibration, _text(calibration, found, parts, limits))


def _raw(
    statement: Statement,
    found: DraftedMap,
    parts: Sequence[DraftedCorrection],
    limits: DraftedLimits | None,
) -> dict[str, Any]:
    files = listing(visible(account.log.file) for account in statement.logs)
    spark: dict[str, Any] = {
        "complete": False,
        "map": {
            "axes": [as_raw(axis) for axis in found.surface.axes],
            "values": _cells(found.surface.grid),
        },
        "correction": [as_raw(part.correction) for part in parts],
    }
    if limits is not None:
        spark["limits"] = as_raw(limits.limits)
    notes = [
        f"{NOT_FOR_LOADING}. Read out of {files}; every number here is inferred from what the ECU "
        "itself reported, and none was checked at the crank.",
        *_said(found, parts, limits),
        *(f"Not in this sheet: {text}" for text in left_out(statement)),
        *source_lines(
            [
                SourceLog(visible(a.log.file), fingerprint_of(a.log, a.roles))
                for a in statement.logs
                if a.ledger is not None
            ]
        ),
    ]
    return {
        "format": FORMAT,
        "title": f"Read out of {files}: not for loading",
        "revision": "draft",
        "notes": "\n".join(notes),
        "spark": spark,
    }


def _said(
    found: DraftedMap, parts: Sequence[DraftedCorrection], limits: DraftedLimits | None
) -> Iterator[str]:
    yield f"Main map: {map_remark(found)}"
    if limits is not None:
        yield f"Limits: {limits.remark}"
    for part in parts:
        yield f"{part.correction.id}: {part.remark}"


def map_remark(found: DraftedMap) -> str:
    """Where the map comes from, how much of it the run has been in, and how closely it fits."""
    surface = found.surface
    over = listing(
        f"{axis.signal} from {quantity(axis.at[0], None)} to {quantity(axis.at[-1], axis.unit)}"
        for axis in surface.axes
    )
    spread = surface.spread[np.isfinite(surface.spread)]
    usual = bound(float(np.median(spread))) if spread.size else "not known"
    return (
        f"inferred from {found.source}, over {over}; the run has been in "
        f"{share(surface.coverage)} of it for {seconds(float(surface.seconds.sum()))}, the rest "
        f'is "?"; {share(surface.settled)} of the samples follow it, usually within {usual}'
    )


def _cells(grid: Any) -> list[Any]:
    return [
        _cells(row)
        if isinstance(row, np.ndarray)
        else (float(row) if np.isfinite(row) else UNKNOWN_CELL)
        for row in grid
    ]


# ---- the text


def _text(
    calibration: Calibration,
    found: DraftedMap,
    parts: Sequence[DraftedCorrection],
    limits: DraftedLimits | None,
) -> str:
    """The sheet with remarks: what is not for loading says so in its first line."""
    head = (
        f"{NOT_FOR_LOADING}. This sheet was read out of a log. Cells where the run has not been "
        'are "?". Check every number against the ECU before it is used for anything.'
    )
    remarks: Mapping[str, list[str]] = {
        "[spark]": [f"inferred: {limits.remark}"] if limits else [],
        "[spark.map]": [map_remark(found)],
        "[[spark.correction]]": [f"inferred: {part.remark}" for part in parts],
    }
    waiting = {heading: list(texts) for heading, texts in remarks.items()}
    lines = [*_comment(head), ""]
    for line in to_toml(calibration).splitlines():
        if waiting.get(line):
            lines += _comment(waiting[line].pop(0))
        lines.append(line)
    return "\n".join(lines) + "\n"


def _comment(text: str) -> Iterator[str]:
    line = "#"
    for word in visible(text).split():
        if len(line) + 1 + len(word) > _WIDTH and line != "#":
            yield line
            line = "#"
        line += f" {word}"
    yield line
