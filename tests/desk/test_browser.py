"""The desk in a browser, as a reader uses it: drop, read, choose, correct, rehearse, accept, save.

What is shown is held against the same files reconciled and rehearsed without the desk.
"""

import io
import json
import math
from pathlib import Path

import polars as pl
import pytest

from tests.desk.browsing import (
    LONG,
    arrived,
    case_of,
    drop,
    dropped,
    kestrel,
    ledger_of,
    put,
    redrawn,
)
from tests.desk.running import LOG, B, C, D, Desk, desk
from tests.pages.browser import Reader
from tests.pages.climbs import HOSTILE
from tuneledger.pages.notes import read_notes
from tuneledger.wording import degrees


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
    """Names with markup, control codes, codes that turn the reading direction, and one of a
    million characters, in the log, the sheet and the files' own names."""
    head = LOG.read_text().splitlines()
    names = head[0].split(",")
    extra = [f'"{HOSTILE.replace(chr(34), "")}"', "\x1b[31mred\u202egnp.exe", "x" * 1_000_000]
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
