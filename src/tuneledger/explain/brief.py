"""How long was compared, and whether that is too little to agree upon."""

from collections.abc import Sequence

import numpy as np

from tuneledger.explain.finding import Finding
from tuneledger.ledger.book import Book
from tuneledger.wording import count, seconds

# Less than a pull through one gear, or than a handful of samples: common practice, no source.
_LEAST_S = 5.0
_FEWEST_ROWS = 20  # however long they took: judgement
# Of the running revision, where no more was seen.
MOST_SURE = 0.5


def judged_seconds(finding: Finding) -> float:
    """How long delivered could be compared: what no sample or no spark leaves out is not agreed."""
    return _judged_seconds(finding.book)


def _judged_seconds(book: Book) -> float:
    own = np.flatnonzero(book.own)
    if own.size == 0:
        return 0.0
    return float(np.ptp(book.times)) * float(book.judged[own].mean())


def too_brief(books: Sequence[Book]) -> bool:
    """Whether all logs together are too short to say anything of the car."""
    return sum(map(_judged_seconds, books)) < _LEAST_S or _rows(books) < _FEWEST_ROWS


def notes(findings: Sequence[Finding]) -> list[str]:
    """That so little was compared, as a note; empty where it was enough."""
    books = [finding.book for finding in findings]
    if not too_brief(books):
        return []
    lasted = sum(map(judged_seconds, findings))
    return [
        f"only {count(_rows(books), 'sample')} over {seconds(lasted)} could be compared: what "
        "acts elsewhere, or later, cannot have been seen; log a whole run"
    ]


def _rows(books: Sequence[Book]) -> int:
    return sum(int(book.judged.sum()) for book in books)
