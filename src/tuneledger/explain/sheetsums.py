"""What each sheet makes of scheduled, as it was handed over: what delivered may follow."""

from collections.abc import Iterator, Sequence

import numpy as np

from tuneledger.arrays import FloatArray
from tuneledger.explain.account import carry_out
from tuneledger.explain.sheets import LaidSheet
from tuneledger.ledger.book import Book


def sums(book: Book, laid: Sequence[LaidSheet]) -> Iterator[FloatArray]:
    """The sum of each sheet in turn; what cannot be computed counts as nothing. No more of them
    where one comes out as it is: then there is nothing to look for."""
    for sheet in laid:
        parts = [sheet.parts[name] for name in sheet.enabled]
        account = carry_out(book, sheet, parts, first=laid[0])
        if account.balances:
            return
        posted = (np.nan_to_num(entry.values) for entry in account.judging.entries)
        yield sum(posted, book.start.copy())
