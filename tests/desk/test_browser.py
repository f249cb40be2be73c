"""The desk in a browser, as a reader uses it: drop, read, choose, correct, rehearse, accept, save.

What is shown is held against the same files reconciled and rehearsed without the desk.
"""

import io
import json
import math
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import polars as pl
import pytest

import tuneledger as tl
from tests.desk.running import DEMO, LOG, B, C, D, Desk, desk
from tests.pages.browser import Reader, reader
from tests.pages.climbs import HOSTILE
from tuneledger.change.edits import read_changes
from tuneledger.ledger.model import Ledger
from tuneledger.pages.notes import read_notes
from tuneledger.statement.model import Statement
from tuneledger.wording import degrees

LONG = 45.0  # seconds within which a small log is read on a busy machine


@pytest.fixture(scope="module")
def open_desk(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Desk]:
    with desk("--no-memory", home=tmp_path_factory.mktemp("home")) as running:
        yield running


@pytest.fixture(scope="module")
def browser() -> Iterator[Reader]:
    with reader() as opened:
        yield opened


@pytest.fixture
def page(browser: Reader, open_desk: Desk) -> Iterator[Reader]:
    """The desk's first screen; afterwards nothing was complained of or asked elsewhere."""
    browser.own = (open_desk.address,)
    browser.visit(open_desk.address)
    yield browser
    assert browser.complaints() == []
    assert browser.requests() == []


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


def test_dropped_files_are_read_and_every_degree_is_the_ledger_s(page: Reader) -> None:
    dropped(page, LOG, D, C, B)
    statement = kestrel(*(file.name for file in (LOG, D, C, B)))
    ledger = ledger_of(statement)
    assert page.text("h1") == statement.headline
    for share in (0.02, 0.31, 0.55, 0.68, 0.74, 0.97):
        page.point(share)
        slip = page.slip()
        row = int(slip["row"]) - 1
        scheduled, delivered = float(ledger.scheduled[row]), float(ledger.delivered[row])
        assert slip["time"] == f"{ledger.times[row]:.2f} s"
        assert slip["scheduled"] == degrees(scheduled, 2, signed=False)
        assert slip["delivered"] == degrees(delivered, 2, signed=False)
        air = next(e for e in ledger.entries if e.correction == "charge-air")
        assert slip["Hot charge air"] == degrees(round(float(air.values[row]), 2), 2)
        parts = [slip[name] for name in ("Hot charge air", "Idle governor")]
        total = sum(float(text.replace("−", "-").rstrip("°")) for text in parts)
        left = float(slip["unaccounted"].replace("−", "-").rstrip("°"))
        assert left == pytest.approx(round(delivered, 2) - round(scheduled, 2) - total, abs=0.006)


def test_whatever_can_be_operated_has_a_name(page: Reader) -> None:
    assert page.unnamed() == []
    dropped(page, LOG, C)
    page.run("document.querySelectorAll('details').forEach((d) => { d.open = true })")
    assert page.unnamed() == []


def test_its_ledger_and_statement_are_saved_as_the_command_line_writes_them(
    page: Reader, open_desk: Desk
) -> None:
    dropped(page, LOG, C)
    case = case_of(page)
    statement = kestrel(LOG.name, C.name)
    saved = json.loads(open_desk.ask("GET", f"cases/{case}/save/statement")[2])
    assert saved["headline"] == statement.headline
    assert saved["verdict"] == statement.verdict
    table = pl.read_csv(io.BytesIO(open_desk.ask("GET", f"cases/{case}/save/ledger")[2]))
    ledger = ledger_of(statement)
    assert table["delivered_deg"].to_list() == [
        None if math.isnan(v) else v for v in ledger.delivered.round(4).tolist()
    ]


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


def refused(page: Reader) -> None:
    """A refusal is also a line in the console, which the browser itself writes."""
    lines = page.complaints()
    assert lines
    assert all("422" in line for line in lines)


def test_a_correction_is_switched_off_and_what_would_be_delivered_is_the_rehearsal_s(
    page: Reader, open_desk: Desk, tmp_path: Path
) -> None:
    changes = tmp_path / "off.toml"
    changes.write_text(
        'format = "tuneledger-changes/1"\n[[change]]\n'
        'place = "spark.correction.charge-air.enabled"\nto = false\n'
    )
    expected = tl.rehearse(LOG, C, changes=changes, memory=False)
    assert expected.ledger is not None
    dropped(page, LOG, C)
    page.run("document.querySelector(\"[data-place$='charge-air.enabled']\").click()")
    page.until(lambda: page.texts("#rehearsal h3"))
    assert page.text("#rehearsal h3") == expected.headline
    for share in (0.55, 0.7, 0.2):
        page.point(share)
        slip = page.slip()
        row = int(slip["row"]) - 1
        would = float(expected.ledger.delivered[row])
        shown = float(slip["rehearsed"].replace("−", "-").rstrip("°"))
        assert shown == pytest.approx(would, abs=0.0051)
    page.driver.refresh()
    arrived(page)
    page.until(lambda: page.texts("#rehearsal h3"))
    assert page.text("#rehearsal h3") == expected.headline
    case = case_of(page)
    saved = tmp_path / "saved.toml"
    saved.write_bytes(open_desk.ask("GET", f"cases/{case}/save/changes")[2])
    assert [(e.place, e.to) for e in read_changes(saved)] == [
        ("spark.correction.charge-air.enabled", False)
    ]
    sheet = tmp_path / "sheet.toml"
    sheet.write_bytes(open_desk.ask("GET", f"cases/{case}/save/sheet")[2])
    edited = tl.open_calibration(sheet)
    assert edited.revision == "C what if"
    assert [c.id for c in edited.spark.correction if not c.enabled] == ["charge-air", "launch"]
    page.run("[...document.querySelectorAll('#rehearsal button')].at(-1).click()")
    page.until(lambda: not page.texts("#rehearsal h3"))
    assert "rehearsed" not in page.texts("#slip .field .name")


def test_all_of_another_revision_is_rehearsed(page: Reader) -> None:
    """What loading D would have done, where C runs."""
    dropped(page, LOG, D, C)
    expected = tl.rehearse(LOG, C, to=D, memory=False)
    put(page, "#whole", D.name)
    page.until(lambda: page.texts("#rehearsal h3"))
    assert page.text("#rehearsal h3") == expected.headline
    assert page.run("return document.querySelector('#edits').disabled")
    page.driver.refresh()
    arrived(page)
    page.until(lambda: page.texts("#rehearsal h3"))
    assert page.text("#rehearsal h3") == expected.headline


def test_a_log_in_which_another_revision_ran_is_not_rehearsed(page: Reader, tmp_path: Path) -> None:
    """The demo's climb as C drove it, and once more as D would have: D was in the car last."""
    moved = tl.rehearse(LOG, C, to=D, memory=False)
    assert moved.ledger is not None
    head, *rows = LOG.read_text().splitlines()
    column = head.split(",").index("Spark used (deg)")
    other = [head]
    for row, degree in zip(rows, moved.ledger.delivered, strict=True):
        cells = row.split(",")
        cells[column] = f"{degree:.1f}" if math.isfinite(degree) else cells[column]
        other.append(",".join(cells))
    drop(page, (LOG.name, LOG.read_text()), ("after.csv", "\n".join(other)),
         (C.name, C.read_text()), (D.name, D.read_text()))  # fmt: skip
    arrived(page)
    put(page, "#whole", C.name)
    page.until(lambda: len(page.texts("#rehearsal h3")) == 2)
    after, climb = sorted(page.texts("#rehearsal h3"))
    assert after.startswith("after.csv: Care: revision C in place of D would move delivered")
    assert climb.startswith("climb.csv: Not rehearsed: this log behaves like revision C")


def test_an_amount_and_a_cell_of_the_map_are_changed_in_place(page: Reader) -> None:
    dropped(page, LOG, C)
    put(page, "[data-place='spark.correction.rain.amount']", "-2", "input")
    page.click(".map td button", 0)
    put(page, ".cell-edit input", "14.5", "input")
    page.until(lambda: len(page.texts("#rehearsal .changes li")) == 2)
    said = page.texts("#rehearsal .changes li")
    assert said[0] == "Rain switch (rain): amount: −4.0° → −2.0°"
    assert said[1].startswith("the main map at 25 kPa, 700 rpm: 13.0° → 14.5°")
    put(page, "[data-place='spark.correction.rain.amount']", "99999", "input")
    page.until(lambda: page.texts("#rehearsal .fault") or page.texts("#rehearsal .changes li"))


def test_a_saved_page_holds_notes_and_rehearsal_and_opens_without_the_desk(
    page: Reader, open_desk: Desk, tmp_path: Path
) -> None:
    dropped(page, LOG, C)
    page.click("[data-cause='0'] .note button")
    page.run("document.querySelector('.note-form textarea').value = 'as agreed'")
    page.click(".note-form input")
    page.click(".note-form button[type='submit']")
    page.until(lambda: "Kept with this case" in page.text("#notes"))
    page.run("document.querySelector(\"[data-place$='charge-air.enabled']\").click()")
    page.until(lambda: page.texts("#rehearsal h3"))
    page.driver.refresh()
    arrived(page)
    assert page.text("[data-cause='0'] .noted") == "Accepted as expected: as agreed"
    case = case_of(page)
    saved = tmp_path / "saved.html"
    saved.write_bytes(open_desk.ask("GET", f"cases/{case}/save/page")[2])
    page.visit(saved.as_uri())
    arrived(page)
    assert page.text("[data-cause='0'] .noted") == "Accepted as expected: as agreed"
    page.point(0.5)
    assert "rehearsed" in page.slip()


def test_any_channel_of_the_log_can_be_brought_up(page: Reader) -> None:
    """The page carries few channels; the desk brings the others, sample by sample."""
    head, *rows = LOG.read_text().splitlines()
    names = [f"Spare {i}" for i in range(40)]
    lines = [",".join([head, *names])]
    lines += [
        ",".join([row, *(f"{(i * 7 + k) % 90}" for k in range(40))]) for i, row in enumerate(rows)
    ]
    drop(page, ("wide.csv", "\n".join(lines)), (C.name, C.read_text()))
    arrived(page)
    put(page, ".find input", "spare 37", "input")
    shown = "return [...document.querySelectorAll('.strip.channel b')].map((n) => n.innerText)"
    page.until(lambda: "Spare 37" in page.run(shown))
    page.point(0.42)
    row = int(page.slip()["row"]) - 1
    index = page.texts(".strip.channel .strip-head b").index("Spare 37")
    assert page.texts(".strip.channel .strip-value")[index] == str((row * 7 + 37) % 90)


def test_files_are_added_to_a_case_and_taken_away(page: Reader) -> None:
    dropped(page, LOG, C)
    page.run("window.old = true")
    drop(page, (D.name, D.read_text()))
    page.until(lambda: page.run("return !window.old"), LONG)
    arrived(page)
    assert "1 log and 2 sheets" in page.text("#papers summary")
    assert page.text("h1") == kestrel(LOG.name, C.name, D.name).headline
    redrawn(page, f"document.querySelector('[data-remove=\"{D.name}\"]').click()")
    assert page.text("h1") == kestrel(LOG.name, C.name).headline


def test_what_cannot_be_read_is_told_and_a_further_file_mends_it(page: Reader) -> None:
    drop(page, (C.name, C.read_text()))
    page.until(lambda: page.texts(".faults"), LONG)
    assert "Add the log" in page.text(".faults")
    drop(page, (LOG.name, LOG.read_text()))
    arrived(page)
    assert page.text("h1") == kestrel(LOG.name, C.name).headline


def test_several_cases_lie_on_the_desk_and_are_put_away(page: Reader, open_desk: Desk) -> None:
    for file in (B, C):
        page.visit(open_desk.address)
        dropped(page, LOG, file)
    case = case_of(page)
    links = page.texts(".desk-bar .cases a")
    assert links.count("climb.csv") >= 1
    page.visit(open_desk.address)
    says = "return document.querySelector('[data-says=\"%s\"]').innerText"
    assert kestrel(LOG.name, C.name).headline in page.run(says % case)
    page.run(f"document.querySelector('[data-away=\"{case}\"]').click()")
    page.until(lambda: not page.run(f"return document.querySelector('[data-away=\"{case}\"]')"))
    assert case not in open_desk.told("GET", "states")


def test_a_hostile_log_changes_nothing(page: Reader) -> None:
    """Names with markup, control codes, codes that turn the reading direction, and one of three
    hundred thousand characters, in the log, the sheet and the files' own names."""
    head = LOG.read_text().splitlines()
    names = head[0].split(",")
    extra = [f'"{HOSTILE.replace(chr(34), "")}"', "\x1b[31mred\u202egnp.exe", "x" * 300_000]
    lines = [",".join([*names, *extra]), *(f"{line},1,2,3" for line in head[1:])]
    sheet = D.read_text().replace("Hot charge air", HOSTILE.replace('"', ""))
    name = f"{HOSTILE[:60]}.csv".replace("/", "")
    drop(page, (name, "\n".join(lines)), ("\u202e.toml", sheet))
    arrived(page)
    page.point(0.5)
    page.click("[data-cause='0'] button")
    page.run("document.querySelectorAll('details').forEach((d) => { d.open = true })")
    assert page.run("return window.harmed ?? null") is None
    stray = "return document.querySelectorAll('main img:not(.legend img), main script').length"
    assert page.run(stray) == 0
    assert not any("\x1b" in text or "\u202e" in text for text in page.texts("body"))
    assert page.run("return document.documentElement.outerHTML.length") < 3_000_000


def test_notes_are_kept_beside_a_log_that_stays_where_it_is(
    browser: Reader, tmp_path: Path
) -> None:
    log = tmp_path / "monday.csv"
    log.write_bytes(LOG.read_bytes())
    beside = tmp_path / "monday.csv.notes.json"
    for noted in (False, True):
        with desk(log, C, home=tmp_path) as running:
            (case,) = running.told("GET", "states")
            running.settled(case)
            browser.own = (running.address,)
            browser.visit(f"{running.address}cases/{case}/")
            arrived(browser)
            if noted:
                assert "as agreed" in browser.text("[data-cause='0'] .noted")
                continue
            browser.click("[data-cause='0'] .note button")
            browser.run("document.querySelector('.note-form textarea').value = 'as agreed'")
            browser.click(".note-form button[type='submit']")
            browser.until(lambda: beside.name in browser.text("#notes"))
        (note,) = read_notes(beside.read_text(), beside.name)
        assert note["says"] == "as agreed"
