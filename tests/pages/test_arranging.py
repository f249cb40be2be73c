"""What a reader arranges, accepts and notes, and what a reload brings back."""

import pytest

from tests.pages.browser import Reader
from tests.pages.climbs import busy
from tests.pages.read import choose
from tuneledger.pages.notes import read_notes


def test_a_few_letters_bring_up_a_strip_that_can_be_moved_and_removed(page: Reader) -> None:
    page.open(busy())
    before = page.texts(".strip.channel .strip-head b")
    for letters in ("ping", "wet sh"):
        page.run("document.querySelector('.find input').value = arguments[0]", letters)
        page.run(
            "document.querySelector('.find input').dispatchEvent("
            "new KeyboardEvent('keydown', {key: 'Enter', bubbles: true}))"
        )
    names = page.texts(".strip.channel .strip-head b")
    added = [name for name in names if name not in before]
    assert added[0].startswith("Ping")
    assert added[1] == "Wet share"
    page.click("[aria-label='Move up the strip Wet share']")
    names = page.texts(".strip.channel .strip-head b")
    assert names.index("Wet share") < names.index(added[0])
    page.click("[aria-label='Remove the strip Wet share']")
    assert "Wet share" not in page.texts(".strip.channel .strip-head b")


def test_pressures_and_temperatures_turn_for_the_whole_page(page: Reader) -> None:
    statement = busy()
    log = statement.logs[0].log
    page.open(statement)
    page.point(0.6)
    row = int(page.slip()["row"]) - 1
    for kind, unit in ((0, "psi"), (1, "degF")):
        page.run(
            "const s = document.querySelectorAll('.unit-choice select')[arguments[0]];"
            "s.value = arguments[1]; s.dispatchEvent(new Event('change'))",
            kind,
            unit,
        )
    page.frame()
    shown = dict(
        zip(
            page.texts(".strip.channel .strip-head b"),
            page.texts(".strip.channel .strip-value"),
            strict=True,
        )
    )
    boost, air = log.find("Boost abs"), log.find("Air in")
    assert boost is not None
    assert air is not None
    # factors of NIST SP 811, appendix B.8
    assert shown["Boost abs"] == f"{log.values(boost)[row] / 6.894757:.2f} psi"
    warm = float(shown["Air in"].removesuffix(" °F"))
    # to the file's own decimals, turned: half a step of 0.001 °C and half a step of 0.001 °F
    assert warm == pytest.approx(log.values(air)[row] * 1.8 + 32, abs=0.00145)
    assert "psi" in page.text(".map caption")


def test_a_cause_is_accepted_with_a_reason_and_saved_as_a_file(page: Reader) -> None:
    page.open(busy())
    page.click("[data-cause='1'] .note button")
    page.run("document.querySelector('.note-form textarea').value = 'it <b>rained</b>'")
    page.click(".note-form input")
    page.click(".note-form button[type='submit']")
    assert page.text("[data-cause='1'] .noted") == "Accepted as expected: it <b>rained</b>"
    page.run(
        "URL.createObjectURL = (blob) =>"
        " { blob.text().then((t) => { window.kept = t }); return '#'; };"
        "HTMLAnchorElement.prototype.click = function () { window.called = this.download; }"
    )
    page.click("#notes button")
    page.until(lambda: page.run("return window.kept ?? null"))
    (note,) = read_notes(page.run("return window.kept"), "notes.json")
    assert (note["title"], note["expected"], note["says"]) == (
        "Wet-road switch", True, "it <b>rained</b>",
    )  # fmt: skip
    assert page.run("return window.called") == "climb-2.csv.notes.json"


def test_a_reload_comes_back_to_what_was_looked_at(page: Reader) -> None:
    page.open(busy())
    page.click("[data-cause='2'] button")
    choose(page, ".unit-choice select", "psi")
    held, window = page.slip(), page.window()
    page.until(lambda: "cause=2" in page.run("return location.hash"))
    page.until(lambda: "cursor=" in page.run("return location.hash"))
    page.until(lambda: "pressure=psi" in page.run("return location.hash"))
    name = page.run("return document.querySelector('#spare-channels option').value")
    page.run(
        "const f = document.querySelector('.find input'); f.value = arguments[0];"
        "f.dispatchEvent(new Event('input', {bubbles: true}))",
        name,
    )
    page.until(lambda: "strips=" in page.run("return location.hash"))
    page.driver.refresh()
    page.until(lambda: page.run("return document.querySelectorAll('#board .strip').length > 1"))
    assert page.slip() == held
    assert page.window() == pytest.approx(window, abs=1e-3)
    assert page.run("return document.querySelector('.cause.chosen').dataset.cause") == "2"
    assert page.run("return document.querySelector('.unit-choice select').value") == "psi"
    assert "psi" in page.text(".map caption")
    assert any(name in text for text in page.texts("#board .strip.channel .strip-head"))


@pytest.mark.parametrize(
    "end",
    ["#log=7&from=0&to=5", "#log=0&from=9&to=3", "#log=0&from=0&to=1e9", "#log=x",
     "#cell=999&log=0", "#log=0&cause=99", "#log=0&beside=5", "#log=0&pressure=<b>",
     "#log=0&strips=999.x", "#log=0&strips=999", "#%%%", "#log=0&cursor=-5"],
)  # fmt: skip
def test_an_address_that_leads_nowhere_shows_the_page_all_the_same(page: Reader, end: str) -> None:
    page.open(busy())
    page.driver.get("about:blank")
    page.driver.get((page.folder / "page.html").as_uri() + end)
    page.drawn()
    page.run("document.querySelector('#run').scrollIntoView()")
    page.point(0.5)
    assert page.slip()["delivered"].endswith("°")
    assert page.window() == (0.0, 1.0)
    assert page.complaints() == []
