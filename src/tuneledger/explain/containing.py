"""That the scheduled channel already contains corrections: told before all that is said of them."""

from collections.abc import Iterator, Sequence

from tuneledger.explain.finding import Finding
from tuneledger.explain.included import told
from tuneledger.explain.sheets import LaidSheet
from tuneledger.ledger.book import Book
from tuneledger.wording import listing


def notes(findings: Sequence[Finding]) -> list[str]:
    """What each log's scheduled channel contains, and what to add to the sheet."""
    return [
        told(sheet.inside, book) for sheet, book in _tried(findings) if sheet.inside is not None
    ]


def ahead(findings: Sequence[Finding]) -> str:
    """The same in short, for a headline; empty where nothing is sure to be contained."""
    for sheet, book in _tried(findings):
        if sheet.inside is not None and sheet.inside.sure:
            ids = sheet.inside.corrections
            known = [c.called for name in ids if (c := sheet.correction(name)) is not None]
            channel = book.roles.by_signal["scheduled advance"].channel.name
            named = ", ".join(f'"{name}"' for name in ids)
            return (
                f"{channel} already contains {listing(known)}, which the sheet does not say: add "
                f"scheduled_includes = [{named}] to it."
            )
    return ""


def _tried(findings: Sequence[Finding]) -> Iterator[tuple[LaidSheet, Book]]:
    for finding in findings:
        if finding.trial is not None and finding.book.scheduled is not None:
            yield finding.trial.sheet, finding.book
