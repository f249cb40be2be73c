"""What is left over and counts as nothing: moments at edges, and what is slight and brief."""

from collections.abc import Sequence

import numpy as np

from tuneledger.arrays import FloatArray
from tuneledger.ledger.episodes import Run, seconds
from tuneledger.ledger.model import Ledger

# An account balances although a little is left: edges that fell between two samples.
_LEFT_SHARE = 0.01
_LEFT_RUN_S = 0.12
_LEFT_RUN_ROWS = 2
# What is left is slight where it is so brief, so small, and so little of the run: judgement.
_SLIGHT_S, _SLIGHT_TOLERANCES, _SLIGHT_SHARE = 0.25, 3.0, 0.005


def next_to_nothing(runs: Sequence[Run], ledger: Ledger, left: FloatArray) -> bool:
    """Whether what is left over is brief each time, and seldom: edges between two samples. What is
    slight besides may last a little longer, as where an ECU filters what it reads."""
    row_s, judged_s = ledger.row_s, float(np.isfinite(left).sum()) * ledger.row_s
    slight = [run for run in runs if _slight(run, ledger, left)]
    if seconds(slight, ledger.times, row_s) > _SLIGHT_SHARE * judged_s:
        slight = []
    lasting = [run for run in runs if run not in slight]
    if not lasting:
        return True
    longest = max(seconds([run], ledger.times, row_s) for run in lasting)
    allowed = max(_LEFT_RUN_S, _LEFT_RUN_ROWS * row_s) + 1e-9
    return longest <= allowed and seconds(lasting, ledger.times, row_s) <= max(
        allowed, _LEFT_SHARE * judged_s
    )


def _slight(run: Run, ledger: Ledger, left: FloatArray) -> bool:
    size = np.nanmax(np.abs(left[run[0] : run[1] + 1]), initial=0.0)
    lasts = seconds([run], ledger.times, ledger.row_s)
    return bool(lasts <= _SLIGHT_S and size <= _SLIGHT_TOLERANCES * ledger.tolerance)
