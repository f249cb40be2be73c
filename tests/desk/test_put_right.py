"""Sheets, channels and units that are put right change the statement."""

from tests.desk.browsing import arrived, dropped, kestrel, put, redrawn, refused
from tests.desk.running import LOG, C, D
from tests.pages.browser import Reader


def test_another_sheet_is_said_to_run(page: Reader) -> None:
    dropped(page, LOG, D, C)
    before = page.text("h1")
    redrawn(page, f"document.querySelector('#papers input[value=\"{C.name}\"]').click()")
    assert page.text("h1") == kestrel(LOG.name, C.name, D.name).headline != before
    assert before in page.text(".was")
    page.driver.refresh()
    arrived(page)
    assert page.text("h1") == kestrel(LOG.name, C.name, D.name).headline


def test_a_channel_is_put_right_and_the_statement_changes(page: Reader) -> None:
    dropped(page, LOG, C)
    before = page.text("h1")
    page.run("document.querySelector('details.channels').open = true")
    redrawn(
        page,
        "const n = document.querySelector(\"[data-signal='delivered advance']\");"
        "n.value = 'Spark base'; n.dispatchEvent(new Event('change'))",
    )
    field = "return document.querySelector(\"[data-signal='delivered advance']\").value"
    assert page.run(field) == "Spark base"
    assert page.text("h1") != before
    assert before in page.text(".was")
    redrawn(
        page,
        "const n = document.querySelector(\"[data-signal='delivered advance']\");"
        "n.value = ''; n.dispatchEvent(new Event('change'))",
    )
    assert page.run(field) == "Spark used"
    assert page.text("h1") == before


def test_a_channel_that_is_not_there_is_told_and_changes_nothing(page: Reader) -> None:
    dropped(page, LOG, C)
    before = page.text("h1")
    put(page, "[data-signal='engine speed']", "No such channel")
    page.until(lambda: "No such channel" in page.text("#busy"))
    assert page.run("return document.querySelector(\"[data-signal='engine speed']\").value") == (
        "Engine speed"
    )
    assert page.text("h1") == before
    refused(page)


def test_a_unit_is_put_right(page: Reader) -> None:
    dropped(page, LOG, C)
    redrawn(
        page,
        "const n = document.querySelector(\"[data-channel='Inlet temp']\");"
        "n.value = '°F'; n.dispatchEvent(new Event('change'))",
    )
    shown = "return document.querySelector(\"[data-channel='Inlet temp']\").value"
    assert page.run(shown) == "°F"
