"""Where delivered stands above scheduled under load, and who has a part in it."""

import numpy as np

from tuneledger.arrays import BoolArray, FloatArray
from tuneledger.explain.finding import Finding
from tuneledger.ledger.tolerance import local_change

# Advance that stands above scheduled in one row alone has to stand out: it may be an edge of
# scheduled that fell between two samples.
_LONE_ROW_FACTOR = 1.5
# Who adds this share of what stands above scheduled has a part in it, however small it is.
_PART = 0.25


def raised_rows(finding: Finding, values: FloatArray, rows: BoolArray) -> BoolArray:
    """Where delivered stands above scheduled under load, and this has a part in it.

    Empty where it is one row that does not stand out.
    """
    book = finding.book
    above = book.delivered - book.start
    adds = values > np.minimum(book.tolerance, _PART * np.abs(above))
    hit: BoolArray = rows & book.regimes.load & (above > book.tolerance + book.slack) & adds
    tall = above > _LONE_ROW_FACTOR * book.tolerance + local_change(book.start)
    return hit if hit.sum() > 1 or (hit & tall).any() else np.zeros_like(hit)


def load_told(finding: Finding, raised: BoolArray) -> bool:
    """Whether any of the raised rows is told to be under load, and not only taken to be."""
    return bool((raised & finding.book.regimes.load_told).any())
