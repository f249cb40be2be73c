"""A correction of the sheet that reads a temperature that nobody saw, where all that is left over
drifts as that temperature would make it.

The log then shows what it posted, though not at which temperature. Like one number for the outside
air (see `standing`), it is a better account than a suspicion that may hide anything, and stays one.
"""

from collections.abc import Sequence

import numpy as np

from tuneledger.calibrations.model import Correction
from tuneledger.explain.account import Account
from tuneledger.explain.drift import Drift, drift, reads_slow
from tuneledger.explain.leftover.model import SUSPECTED, Extra
from tuneledger.explain.misnamed import why_lacking
from tuneledger.explain.model import Need, Point
from tuneledger.explain.sheets import LaidSheet
from tuneledger.ledger.book import Book
from tuneledger.wording import degree_span, share

# Nats: the sheet lists it; each tolerance by which it goes to and fro has to be said.
_PRICE, _PER_TOLERANCE = 3.0, 0.5


def find(book: Book, account: Account, laid: Sequence[LaidSheet]) -> tuple[Extra, ...]:
    """The corrections that read one unseen temperature, as one; none where what reads anything else
    unseen may have shared it."""
    sheet = account.sheet
    if sheet is None or not account.runs:
        return ()
    unseen = [
        correction
        for name in sheet.enabled
        if (correction := sheet.correction(name)) is not None
        and correction.has_numbers
        and not sheet.parts[name].computable.all()
        and sheet.parts[name].missing
    ]
    read = {reads_slow(correction) for correction in unseen}
    if len(read) != 1 or None in read:
        return ()
    signal = str(read.pop())
    if any(sheet.parts[c.id].missing != (signal,) for c in unseen):
        return ()
    rows = np.any([~sheet.parts[c.id].computable for c in unseen], axis=0)
    slack = book.slack + account.ledger.edge_slack
    alone = [one for one in unseen if drift(book, account.left, slack, rows, [one]) is not None]
    if len(unseen) > 1 and len(alone) > 1:
        return ()  # which of them it was is another question: see `missing`
    told = alone or unseen
    found = drift(book, account.left, slack, rows, told)
    return () if found is None else (_extra(book, sheet, told, signal, found),)


def _extra(
    book: Book, sheet: LaidSheet, unseen: Sequence[Correction], signal: str, found: Drift
) -> Extra:
    widest = max(unseen, key=lambda one: float(np.nanmax(one.grid) - np.nanmin(one.grid)))
    others = tuple(one.id for one in unseen if one is not widest)
    here = found.values[found.rows]
    said = (
        f"{degree_span(float(here.min()), float(here.max()))}, no faster than a temperature moves, "
        f"leave nothing over in {share(found.fits)} of the samples"
    )
    why = why_lacking(signal, book.roles)
    return Extra(
        kind="correction",
        rows=found.rows,
        certainty=SUSPECTED,
        price=_PRICE + _PER_TOLERANCE * found.moves / book.tolerance,
        shown=found.values,
        correction=widest.id,
        drifts=True,
        revision=sheet.revision,
        rivals=others,
        needs=(Need(signal, f"the correction '{widest.id}' reads it and {why}"),),
        points=(
            Point("for", said),
            Point("against", f"it cannot be computed without {signal}"),
        ),
    )
