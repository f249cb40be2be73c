"""What if, in the browser: edits in place, and what would be delivered is the rehearsal's."""

import math
from pathlib import Path

import pytest

import tuneledger as tl
from tests.desk.browsing import arrived, case_of, drop, dropped, put
from tests.desk.running import LOG, C, D, Desk
from tests.pages.browser import Reader
from tuneledger.change.edits import read_changes


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


def test_cells_of_tables_of_two_axes_are_changed_in_place(page: Reader, tmp_path: Path) -> None:
    """A correction over two axes, and a cell of the main map where nobody drove."""
    table = (
        "axes = [\n"
        '  { signal = "engine speed", unit = "rpm", at = [2000.0, 6000.0] },\n'
        '  { signal = "throttle position", unit = "%", at = [0.0, 50.0, 100.0] },\n'
        "]\nvalues = [[0.0, -4.0, -4.0], [0.0, -4.0, -4.0]]\n"
    )
    sheet = tmp_path / "rev-c.toml"
    sheet.write_text(C.read_text().replace("amount = -4.0\n", table, 1))
    changes = tmp_path / "changes.toml"
    places = {"spark.correction.rain.values[1][2]": -9.0, "spark.map.values[0][7]": 30.0}
    changes.write_text(
        'format = "tuneledger-changes/1"\n'
        + "".join(f"[[change]]\nplace = '{place}'\nto = {to}\n" for place, to in places.items())
    )
    expected = tl.rehearse(LOG, sheet, changes=changes, memory=False)
    assert expected.ledger is not None
    dropped(page, LOG, sheet)
    page.run("document.querySelectorAll('.cells').forEach((d) => { d.open = true })")
    page.until(lambda: page.texts(".cells caption"))
    assert "degrees; ↓ engine speed, rpm → throttle position, %" in page.texts(".cells caption")
    assert page.unnamed() == []
    put(page, "[aria-label='Rain switch at 6000 rpm, 100 %']", "-9", "input")
    put(page, "[aria-label='Main map at 25 kPa, 7400 rpm']", "30", "input")
    page.until(lambda: len(page.texts("#rehearsal .changes li")) == 2)
    assert page.text("#rehearsal h3") == expected.headline
    assert "a table of 2 × 3 points, 1 changed" in page.texts(".cells summary")
    for share in (0.55, 0.7, 0.9):
        page.point(share)
        slip = page.slip()
        would = float(expected.ledger.delivered[int(slip["row"]) - 1])
        assert float(slip["rehearsed"].replace("−", "-").rstrip("°")) == pytest.approx(
            would, abs=0.0051
        )
    page.driver.refresh()
    arrived(page)
    page.until(lambda: len(page.texts("#rehearsal .changes li")) == 2)
    assert page.texts(".cells summary")[0] == "a table of 7 × 8 points, 1 changed"
    page.run("[...document.querySelectorAll('#rehearsal button')].at(-1).click()")
    page.until(lambda: not page.texts("#rehearsal h3"))
    assert page.texts(".cells summary")[0] == "a table of 7 × 8 points"
