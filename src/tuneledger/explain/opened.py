"""A log's book with the sheets over it: what an explanation begins with."""

from dataclasses import dataclass

from tuneledger.explain.sheets import LaidSheet
from tuneledger.ledger.book import Book


@dataclass(frozen=True, eq=False)
class OpenedBook:
    """One log's book with every supplied sheet laid over it, in the order supplied."""

    book: Book
    laid: tuple[LaidSheet, ...]
