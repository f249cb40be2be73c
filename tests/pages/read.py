"""What several browser tests read off a page."""

from tests.pages.browser import Reader
from tuneledger.ledger.model import Ledger
from tuneledger.statement.model import Statement
from tuneledger.wording import degrees

POSTED = {
    "Hot charge air": "charge-air",
    "Wet-road switch": "wet-road",
    "Knock": "knock",
    "Idle governor": "idle-governor",
}


def ledger_of(statement: Statement) -> Ledger:
    ledger = statement.logs[0].ledger
    assert ledger is not None
    return ledger


def lines_of(ledger: Ledger, row: int) -> dict[str, str]:
    """The account at a row, written from the ledger itself."""
    entries = {e.correction: float(e.values[row]) for e in ledger.entries}
    return {
        "scheduled": degrees(float(ledger.scheduled[row]), signed=False),
        **{title: degrees(entries[correction]) for title, correction in POSTED.items()},
        "delivered": degrees(float(ledger.delivered[row]), signed=False),
        "unaccounted": degrees(float(ledger.unaccounted[row])),
    }


def choose(page: Reader, selector: str, value: str) -> None:
    page.run(
        "const s = document.querySelector(arguments[0]); s.value = arguments[1];"
        "s.dispatchEvent(new Event('change'))",
        selector,
        value,
    )
    page.frame()
