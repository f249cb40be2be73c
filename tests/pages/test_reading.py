"""The page in a browser: what a reader does with it, and that the numbers are the ledger's."""

import re
from collections.abc import Iterator

import numpy as np
import pytest

from tests.pages.browser import Reader, reader
from tests.pages.climbs import HOSTILE, busy, hostile, two_maps
from tests.statements import ALL, no_delivered, two_logs
from tuneledger.ledger.model import Ledger
from tuneledger.pages import visits
from tuneledger.pages.notes import read_notes
from tuneledger.statement.model import Statement
from tuneledger.wording import degrees

POSTED = {
    "Hot charge air": "charge-air",
    "Wet-road switch": "wet-road",
    "Knock": "knock",
    "Idle governor": "idle-governor",
}


@pytest.fixture(scope="module")
def page() -> Iterator[Reader]:
    with reader() as opened:
        yield opened


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


@pytest.mark.parametrize("name", ["hostile", "busy", *sorted(ALL)])
def test_a_page_opens_from_disk_without_complaint_or_request(page: Reader, name: str) -> None:
    made = {"hostile": hostile, "busy": busy, **ALL}[name]
    page.open(made())
    page.point(0.4)
    assert page.complaints() == []
    assert page.requests() == []


def test_a_hostile_channel_name_is_shown_as_text(page: Reader) -> None:
    page.open(hostile())
    page.point(0.5)
    assert page.run("return window.harmed ?? null") is None
    assert (
        page.run("return document.querySelectorAll('img:not(.legend img), #board script').length")
        == 0
    )
    assert any(HOSTILE[:30] in text.replace("\n", "") for text in page.texts(".strip-head b"))


@pytest.mark.parametrize("share", [0.03, 0.11, 0.305, 0.5, 0.727, 0.96])
def test_the_slip_says_what_the_ledger_says_at_that_row(page: Reader, share: float) -> None:
    ledger = ledger_of(busy())
    page.open(busy())
    page.point(share)
    slip = page.slip()
    row = int(slip["row"]) - 1
    assert {name: slip[name] for name in lines_of(ledger, row)} == lines_of(ledger, row)
    assert slip["time"] == f"{ledger.times[row]:.2f} s"
    assert abs(ledger.times[row] - share * ledger.times[-1]) < 0.1


def test_strips_show_the_sample_of_the_log_itself(page: Reader) -> None:
    log = busy().logs[0].log
    page.open(busy())
    page.point(0.6)
    row = int(page.slip()["row"]) - 1
    shown = dict(zip(page.texts(".strip-head b"), page.texts(".strip-value"), strict=False))
    assert "Rev" in shown
    values = page.texts(".strip.channel .strip-value")
    names = page.texts(".strip.channel .strip-head b")
    rev, boost = log.find("Rev"), log.find("Boost abs")
    assert rev is not None
    assert boost is not None
    assert values[names.index("Rev")] == f"{log.values(rev)[row]:.0f} rpm"
    assert values[names.index("Boost abs")] == f"{log.values(boost)[row]:.1f} kPa"


def test_the_wheel_zooms_about_the_pointer(page: Reader) -> None:
    page.open(busy())
    page.point(0.25)
    before = page.slip()["time"]
    for _ in range(4):
        page.turn(0.25, -240)
    start, end = page.window()
    assert end - start < 0.4
    assert start < 0.25 < end
    page.point(0.2501)
    assert abs(float(page.slip()["time"][:-2]) - float(before[:-2])) <= 0.02


def test_zooming_out_of_the_whole_run_scrolls_the_page(page: Reader) -> None:
    page.open(busy())
    page.turn(0.5, 300)
    page.until(lambda: page.run("return scrollY") > 0)
    assert page.window() == (0.0, 1.0)


def test_a_drag_moves_along_and_a_double_click_goes_back(page: Reader) -> None:
    page.open(busy())
    page.click("#tools button", 0)
    start, end = page.window()
    page.mouse("mousePressed", 0.7, button="left", clickCount=1)
    page.mouse("mouseMoved", 0.6, button="left", buttons=1)
    page.mouse("mouseMoved", 0.4, button="left", buttons=1)
    page.mouse("mouseReleased", 0.4, button="left", clickCount=1)
    moved = page.window()
    assert moved[0] == pytest.approx(start + 0.3 * (end - start), abs=0.01)
    assert "frozen" not in page.run("return document.querySelector('#slip').className")
    page.press(0.5, times=2)
    assert page.window() == (0.0, 1.0)


def test_a_click_holds_the_slip_and_escape_lets_it_go(page: Reader) -> None:
    page.open(busy())
    page.press(0.5)
    held = page.slip()
    page.point(0.8)
    assert page.slip() == held
    page.key("Escape")
    page.point(0.8)
    assert page.slip()["row"] != held["row"]


def test_keys_do_all_of_it(page: Reader) -> None:
    page.open(busy())
    page.point(0.5)
    row = int(page.slip()["row"])
    page.key("ArrowRight")
    assert int(page.slip()["row"]) == row + 1
    page.key("ArrowLeft", shift=True)
    assert int(page.slip()["row"]) == row - 9
    page.key("+")
    start, end = page.window()
    assert end - start == pytest.approx(0.6, abs=0.01)
    page.key("PageDown")
    assert page.window()[0] > start
    page.key("Home")
    assert page.slip()["row"] == "1"
    page.key("End")
    assert page.slip()["row"] == "6000"
    page.key("0")
    assert page.window() == (0.0, 1.0)
    page.key("n")
    assert page.window() != (0.0, 1.0)


def test_choosing_a_cause_goes_there_and_brings_up_what_proves_it(page: Reader) -> None:
    page.open(busy())
    page.click("[data-cause='1'] button")
    start, end = (60 * share for share in page.window())
    acts = [busy().episodes[i] for i in busy().causes[1].episodes]
    assert start < min(e.start_s for e in acts)
    assert end > max(e.end_s for e in acts)
    assert end - start < 30
    names = page.texts(".strip.channel .strip-head b")
    assert names[:3] == ["Wet switch", "Plate", "Wet share"]
    assert "evidence for cause 2" in page.texts(".strip.channel .strip-head")[0]
    assert page.run("return getComputedStyle(document.querySelector('[data-cause=\"1\"] .more'))"
                    ".display") == "grid"  # fmt: skip


def test_choosing_an_episode_goes_there(page: Reader) -> None:
    page.open(busy())
    page.click("[data-episode='12'] button")
    start, end = (60 * share for share in page.window())
    episode = busy().episodes[12]
    assert start < episode.start_s < episode.end_s < end
    assert end - start < 2.5 * (episode.end_s - episode.start_s)


def test_the_map_holds_the_means_of_its_visits(page: Reader) -> None:
    """Cells and means counted here again, from the log and the definition alone."""
    statement = busy()
    ledger, log = ledger_of(statement), statement.logs[0].log
    axes = statement.sheets[0].calibration.spark.map.axes
    index = [
        np.abs(log.values(channel)[:, None] - np.array(axis.at)).argmin(axis=1)
        for axis, channel in zip(axes, (log.find("Boost abs"), log.find("Rev")), strict=True)
        if channel is not None
    ]
    cells = index[0] * 5 + index[1]
    page.open(statement)
    labels = page.run(
        "return [...document.querySelectorAll('.map tbody td')].map((n) =>"
        " n.querySelector('button')?.ariaLabel ?? '')"
    )
    assert len(labels) == 25
    for cell, label in enumerate(labels):
        rows = cells == cell
        if not rows.any():
            assert label == ""
            continue
        shown = float(re.findall(r"difference ([^°]+)°", label)[0].replace("−", "-"))
        assert shown == pytest.approx(ledger.difference[rows].mean(), abs=0.0051)


def test_choosing_a_cell_lists_its_visits_and_a_visit_goes_there(page: Reader) -> None:
    page.open(busy())
    page.click(".map td button", 0)
    visits = page.texts(".visits .visit")
    assert len(visits) >= 2
    assert "40 kPa, 900 rpm" in page.text(".visits h3")
    page.click(".visits .visit", 0)
    start, end = (60 * share for share in page.window())
    first = [float(x) for x in visits[0].partition(" s")[0].split(" to ")]
    assert start <= first[0] < first[1] <= end
    assert page.run("return document.querySelectorAll('.map td.here').length") == 1


def test_the_slip_copies_as_text(page: Reader) -> None:
    page.open(busy())
    page.run(
        "navigator.clipboard.writeText = (text) => { window.copied = text;"
        " return Promise.resolve(); }"
    )
    page.press(0.55)
    page.key("c")
    lines = page.run("return window.copied").splitlines()
    ledger = ledger_of(busy())
    row = int(page.slip()["row"]) - 1
    assert lines[0] == f"climb-2.csv at {ledger.times[row]:.2f} s (row {row + 1}, load)"
    assert lines[1].split() == ["scheduled", lines_of(ledger, row)["scheduled"]]
    assert lines[-1].split() == ["unaccounted", lines_of(ledger, row)["unaccounted"]]
    assert any("computed, revision C" in line for line in lines)


def test_a_second_log_has_strips_and_a_slip_of_its_own(page: Reader) -> None:
    page.open(two_logs())
    page.run(
        "const s = document.querySelector('#tools select'); s.value = '1';"
        "s.dispatchEvent(new Event('change'))"
    )
    page.point(0.5)
    ledger = two_logs().logs[1].ledger
    assert ledger is not None
    slip = page.slip()
    row = int(slip["row"]) - 1
    assert slip["delivered"] == degrees(float(ledger.delivered[row]), signed=False)
    assert row < ledger.times.size


def test_a_log_without_an_account_still_shows_its_channels(page: Reader) -> None:
    page.open(no_delivered())
    assert page.run("return document.querySelector('#slip').hidden")
    assert page.texts(".strip-head b")[0] == "Adv asked"


def test_a_phone_has_one_column_and_two_fingers_zoom(page: Reader) -> None:
    page.open(busy(), width=390, height=844)
    assert page.run("return document.documentElement.scrollWidth") == 390
    left, width, y = page.paper()
    assert width > 350
    page.call("Emulation.setTouchEmulationEnabled", enabled=True, maxTouchPoints=2)
    try:
        for kind, apart in (("touchStart", 30), ("touchMove", 60), ("touchMove", 120)):
            middle = left + width / 2
            points = [
                {"x": middle - apart, "y": y, "id": 0},
                {"x": middle + apart, "y": y, "id": 1},
            ]
            page.call("Input.dispatchTouchEvent", type=kind, touchPoints=points)
        page.call("Input.dispatchTouchEvent", type="touchEnd", touchPoints=[])
        page.frame()
    finally:
        page.call("Emulation.setTouchEmulationEnabled", enabled=False)
    start, end = page.window()
    assert end - start < 0.5
    assert start < 0.5 < end


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
    assert warm == pytest.approx(log.values(air)[row] * 1.8 + 32, abs=0.001)
    assert "psi" in page.text(".map caption")


def test_another_revision_s_map_is_shown_cell_by_cell(page: Reader) -> None:
    page.open(two_maps())
    assert page.run("return document.querySelector('.map-choice select').value") == "0"
    own, other = (sheet.calibration.spark.map.grid for sheet in two_maps().sheets)
    shown = [float(t.replace("−", "-")) for t in page.texts(".map td b")]
    np.testing.assert_allclose(np.array(shown).reshape(own.shape), other - own, atol=0.051)


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
    page.driver.refresh()
    page.until(lambda: page.run("return document.querySelectorAll('#board .strip').length > 1"))
    assert page.slip() == held
    assert page.window() == pytest.approx(window, abs=1e-3)
    assert page.run("return document.querySelector('.cause.chosen').dataset.cause") == "2"
    assert page.run("return document.querySelector('.unit-choice select').value") == "psi"
    assert "psi" in page.text(".map caption")


def test_a_second_log_stands_beside_at_the_same_time(page: Reader) -> None:
    page.open(two_logs())
    choose(page, "#beside-log", "1")
    assert "afternoon.csv" in page.texts(".strip.balance .strip-head")[1]
    page.point(0.5)
    ledger = two_logs().logs[1].ledger
    assert ledger is not None
    time = float(page.slip()["time"][:-2])
    row = int(np.abs(ledger.times - time).argmin())
    shown = dict(
        zip(page.texts("#beside .field .name"), page.texts("#beside .field .amount"), strict=True)
    )
    assert shown["delivered"] == degrees(float(ledger.delivered[row]), signed=False)
    assert shown["scheduled"] == degrees(float(ledger.scheduled[row]), signed=False)


def test_a_second_log_stands_beside_at_the_same_operating_point(page: Reader) -> None:
    """The mean account of the other log in the cell under the cursor, counted here again."""
    statement = two_logs()
    page.open(statement)
    choose(page, "#beside-log", "1")
    choose(page, "#beside-link", "point")
    page.point(0.5)
    row = int(page.slip()["row"]) - 1
    cells = visits.grid(statement)
    assert cells is not None
    here, there = cells.cells
    assert here is not None
    assert there is not None
    ledger = statement.logs[1].ledger
    assert ledger is not None
    rows = (there == here[row]) & ledger.own & ~ledger.void & np.isfinite(ledger.difference)
    assert rows.any()
    shown = dict(
        zip(page.texts("#beside .field .name"), page.texts("#beside .field .amount"), strict=True)
    )
    for name, values in (("scheduled", ledger.scheduled), ("delivered", ledger.delivered)):
        number = float(shown[name].replace("−", "-").rstrip("°"))
        assert number == pytest.approx(float(values[rows].mean()), abs=0.06)
    titles = page.texts(".map-choice option")
    assert titles[-1] == "afternoon.csv less morning.csv: mean difference"


def choose(page: Reader, selector: str, value: str) -> None:
    page.run(
        "const s = document.querySelector(arguments[0]); s.value = arguments[1];"
        "s.dispatchEvent(new Event('change'))",
        selector,
        value,
    )
    page.frame()


@pytest.mark.parametrize(
    "end",
    ["#log=7&from=0&to=5", "#log=0&from=9&to=3", "#log=0&from=0&to=1e9", "#log=x",
     "#cell=999&log=0", "#log=0&cause=99", "#log=0&beside=5", "#log=0&pressure=<b>",
     "#%%%", "#log=0&cursor=-5"],
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
