"""An episode by regime: a long one goes through several, and one name for it would mislead."""

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
        added = regime == _LOAD and mean_of(columns.difference[rows[code == regime]]) > tolerance
        if (small or lasts < _EDGE_S) and not added:
            code[code == regime] = main
    return tuple(
        Part(
            REGIMES[regime],
            float((code == regime).mean()),
            *(mean_of(values[rows[code == regime]]) for values in columns),
        )
        for regime in np.argsort(-np.bincount(code, minlength=len(REGIMES)), kind="stable")
        if (code == regime).any()
    )


def mean_of(values: FloatArray, fallback: float = float("nan")) -> float:
    """The mean of what is finite; the fallback where nothing is."""
    finite = values[np.isfinite(values)]
    return float(finite.mean()) if finite.size else fallback
