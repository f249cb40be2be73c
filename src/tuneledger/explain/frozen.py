"""A temperature that stands at one number through a short log, while something shows that it moved.

A thermostat holds coolant for a minute, so that a channel which stands is no proof. But oil that
warms by much warms beside its coolant; and where all that the sheet leaves over drifts just as the
correction that reads the channel would have it drift, the ECU saw a temperature that moved.
"""

from collections.abc import Sequence

import numpy as np

from tuneledger.arrays import BoolArray, FloatArray
from tuneledger.calibrations.model import Correction
from tuneledger.explain.drift import drift, reads_slow
from tuneledger.explain.sheets import LaidSheet
from tuneledger.explain.trial import try_sheet
from tuneledger.ledger.book import Book

_FLUIDS = ("engine coolant temperature", "oil temperature")
# Seconds of a drive below which even that is no proof, and how far the one fluid has to move.
_LEAST_S, _WARMED_C = 30.0, 15.0


def shown_to_move(book: Book, laid: Sequence[LaidSheet], signal: str) -> bool:
    """Whether a channel that stands all through is shown to be frozen by the other fluid, or by
    what is left over beside the first sheet."""
    if not book.times.size or float(np.ptp(book.times)) < _LEAST_S:
        return False
    return other_fluid_moved(book, signal) or _drifts(book, laid[0], signal)


def drifts_all_the_same(book: Book, laid: Sequence[LaidSheet]) -> bool:
    """Whether the one sheet comes out but for what reads a temperature that stands all through,
    and that drifts. With several, another one may come out with what the channel shows."""
    return len(laid) == 1 and any(
        _stands(book, signal) and _drifts(book, laid[0], signal)
        for signal in dict.fromkeys(map(reads_slow, _enabled(laid[0])))
        if signal is not None
    )


def other_fluid_moved(book: Book, signal: str) -> bool:
    """Whether oil warmed, or cooled, by much beside coolant that stands; or the other way round."""
    if signal not in _FLUIDS:
        return False
    values = book.inputs.signal(next(one for one in _FLUIDS if one != signal), None)
    if values is None or not np.isfinite(values).any():
        return False
    low, high = np.nanpercentile(values, [2.0, 98.0])
    return bool(high - low >= _WARMED_C)


def _stands(book: Book, signal: str) -> bool:
    values = book.inputs.signal(signal, None)
    if values is None or not np.isfinite(values).any():
        return False
    return bool(np.nanmin(values) == np.nanmax(values))


def _drifts(book: Book, sheet: LaidSheet, signal: str) -> bool:
    read = [one for one in _enabled(sheet) if reads_slow(one) == signal]
    if not read or any(not sheet.parts[one.id].computable.any() for one in read):
        return False
    account = try_sheet(book, sheet, sheet, {}).account
    posted: FloatArray = np.zeros(book.times.shape)
    acts: BoolArray = np.zeros(book.times.shape, dtype=np.bool_)
    for one in read:
        posted = posted + np.nan_to_num(sheet.parts[one.id].values)
        acts |= sheet.parts[one.id].active
    slack = book.slack + account.ledger.edge_slack
    return drift(book, account.left + posted, slack, acts, read) is not None


def _enabled(sheet: LaidSheet) -> list[Correction]:
    return [one for name in sheet.enabled if (one := sheet.correction(name)) is not None]
