"""What a reader does at the desk, for tests in a browser."""

from functools import cache
from pathlib import Path

import tuneledger as tl
from tests.desk.running import DEMO
from tests.pages.browser import Reader
from tuneledger.ledger.model import Ledger
from tuneledger.statement.model import Statement

LONG = 45.0  # seconds within which a small log is read on a busy machine


@cache
def kestrel(*names: str) -> Statement:
    return tl.reconcile([DEMO / name for name in names], memory=False)


def ledger_of(statement: Statement) -> Ledger:
    ledger = statement.logs[0].ledger
    assert ledger is not None
    return ledger


def drop(page: Reader, *files: tuple[str, str]) -> None:
    """Drop files, by name and text, on whatever the page shows."""
    page.run(
        "const data = new DataTransfer();"
        "for (const [name, text] of arguments[0]) data.items.add(new File([text], name));"
        "document.body.dispatchEvent(new DragEvent('drop',"
        " {dataTransfer: data, bubbles: true, cancelable: true}))",
        files,
    )


def dropped(page: Reader, *files: Path) -> None:
    drop(page, *((file.name, file.read_text(encoding="utf-8")) for file in files))
    arrived(page)


def arrived(page: Reader) -> None:
    """Wait for the statement, and bring its strips into view."""
    strips = "return document.querySelectorAll('#board .strip').length > 1"
    page.until(lambda: page.run(strips), LONG)
    page.run("document.querySelector('#run').scrollIntoView()")


def redrawn(page: Reader, act: str, *arguments: object) -> None:
    """Do something that draws the statement up anew, and wait for the new page."""
    page.run("window.old = true")
    page.run(act, *arguments)
    page.until(lambda: page.run("return !window.old"), LONG)
    arrived(page)


def put(page: Reader, selector: str, value: str, event: str = "change") -> None:
    page.run(
        "const n = document.querySelector(arguments[0]); n.value = arguments[1];"
        "n.dispatchEvent(new Event(arguments[2], {bubbles: true}))",
        selector,
        value,
        event,
    )


def case_of(page: Reader) -> str:
    return page.driver.current_url.rpartition("/cases/")[2].partition("/")[0]


def refused(page: Reader) -> None:
    """A refusal is also a line in the console, which the browser itself writes."""
    lines = page.complaints()
    assert lines
    assert all("422" in line for line in lines)
