"""An episode by regime: a long one goes through several, and one name for it would mislead."""

import math
from typing import NamedTuple

import numpy as np

from tuneledger.arrays import FloatArray, IntArray
from tuneledger.ledger.model import Part
from tuneledger.ledger.regimes import REGIMES, Regimes

# What is briefer than this, or a small share and still brief, is an episode's edge and no part.
_EDGE_S = 0.25
_SMALL_SHARE, _SMALL_S = 0.1, 1.0
_LOAD = REGIMES.index("load")


class Columns(NamedTuple):
    """What an episode's means are taken of: a value per row of the ledger."""

    scheduled: FloatArray
    delivered: FloatArray
    difference: FloatArray
    unaccounted: FloatArray


def parts(
    regimes: Regimes, rows: IntArray, columns: Columns, *, row_s: float, tolerance: float
) -> tuple[Part, ...]:
    """The parts of an episode, longest first; their shares sum to 1.

    rows: its judged rows, none where nothing is judged. Advance added under load is always a part
    of its own, however brief.
    """
    if rows.size == 0:
        return ()
    code = regimes.code[rows].copy()
    counts = np.bincount(code, minlength=len(REGIMES))
    main = REGIMES.index(regimes.most(rows))
    for regime in np.flatnonzero(counts):
        lasts = counts[regime] * row_s
        small = counts[regime] < _SMALL_SHARE * rows.size and lasts < _SMALL_S
        if not small and lasts >= _EDGE_S:
            continue
        here = code == regime
        if regime != _LOAD or mean_of(columns.difference[rows[here]]) <= tolerance:
            code[here] = main
    counts = np.bincount(code, minlength=len(REGIMES))
    return tuple(
        _part(REGIMES[regime], rows[code == regime], columns, rows.size)
        for regime in np.argsort(-counts, kind="stable")
        if counts[regime]
    )


def _part(regime: str, rows: IntArray, columns: Columns, of: int) -> Part:
    return Part(regime, rows.size / of, *(mean_of(values[rows]) for values in columns))


def mean_of(values: FloatArray, fallback: float = float("nan")) -> float:
    """The mean of what is finite; the fallback where nothing is."""
    total = float(np.add.reduce(values)) if values.size else np.nan
    if math.isfinite(total):  # so is each of them; asked thousands of times of a few rows
        return total / values.size
    finite = values[np.isfinite(values)]
    return float(finite.mean()) if finite.size else fallback
