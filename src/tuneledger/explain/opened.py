"""A log's book with the sheets over it: what an explanation begins with."""

from tuneledger.explain.sheets import LaidSheet
from tuneledger.ledger.book import Book
from tuneledger.record import record


@record(eq=False)
class OpenedBook:
    """One log's book with every supplied sheet laid over it, in the order supplied."""

    book: Book
    laid: tuple[LaidSheet, ...]
