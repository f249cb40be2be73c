"""Pages of paper, as a browser prints them."""

import base64
import re
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from tests.change.orders import EASED, EDIT, hot, one_sheet, ordered
from tests.change.test_rehearse import edited, hot_statement
from tests.explain.parts import DEG
from tests.explain.told import told
from tests.light.made import readings
from tests.pages.browser import Reader
from tests.runs import charge_air, climb, sheet
from tuneledger.audit.job import audit_files
from tuneledger.light.fit import fit_readings
from tuneledger.pages.audit import audit_page
from tuneledger.pages.figure import Frame, ticks
from tuneledger.pages.light import light_page
from tuneledger.pages.order import order_page
from tuneledger.pages.rehearsal import rehearsal_page


def sheets_of_paper(page: Reader, html: str) -> int:
    path = page.folder / "still.html"
    path.write_text(html, encoding="utf-8")
    page.driver.get(path.as_uri())
    pdf = page.call("Page.printToPDF", preferCSSPageSize=True)["data"]
    return len(re.findall(rb"/Type\s*/Page\b", base64.b64decode(pdf)))


def test_a_change_order_prints_on_one_sheet(page: Reader) -> None:
    assert sheets_of_paper(page, order_page(ordered(one_sheet(), EDIT))) == 1
    assert page.complaints() == []


def test_so_does_one_with_many_other_differences(page: Reader) -> None:
    newer = sheet("rev-d.toml", "D", [charge_air(EASED)])
    raised = [[cell + 1.0 for cell in row] for row in newer.calibration.spark.map.values or ()]
    older = sheet("rev-c.toml", "C", [charge_air((0.0, 0.0, -3.0, -6.0))])
    made = ordered(told(hot(climb()), newer, older), ("spark.map.values", raised))
    assert len(made.edits) == 25
    assert len(made.besides) == 2
    assert sheets_of_paper(page, order_page(made)) == 1


def guards(amount: float) -> list[dict[str, Any]]:
    """Five protections with long names, conditions and this amount."""
    names = ("Exhaust heat guard", "Fuel pressure guard", "Gear oil guard", "Bottle guard", "Lean")
    rev = {"signal": "engine speed", "unit": "rpm", "above": 3000.0, "release": 2800.0}
    return [
        {
            "id": f"guard-{n}",
            "title": name,
            "reason": "sensor guard",
            "amount": amount,
            "when": ({"channel": f"Guard switch {n}", "is": "on"}, rev),
        }
        for n, name in enumerate(names)
    ]


@pytest.mark.parametrize("eased", [2, 5])
@pytest.mark.parametrize("rows", [0, 1, 5])
def test_so_does_a_long_one(page: Reader, eased: int, rows: int) -> None:
    """Up to thirty edits, five eased protections that did not act, and other differences."""
    newer = sheet("rev-d.toml", "D", [charge_air(EASED), *guards(-2.0)])
    older = sheet("rev-c.toml", "C", [charge_air(DEG), *guards(-5.0)])
    cells = newer.calibration.spark.map.values or ()
    raised = [[c + 1.0 if n < rows else c for c in row] for n, row in enumerate(cells)]
    edits: list[tuple[str, Any]] = [("spark.map.values", raised)] if rows else []
    edits += [(f"spark.correction.guard-{n}.amount", -3.0) for n in range(eased)]
    made = ordered(told(hot(climb()), newer, older), *edits)
    assert len(made.edits) == 5 * rows + eased
    assert len(made.besides) == 2 + 5 - eased
    assert sheets_of_paper(page, order_page(made)) == 1


@pytest.mark.parametrize("width", [400, 1000])
def test_the_reach_keeps_each_number_in_one_line_on_any_screen(page: Reader, width: int) -> None:
    path = page.folder / "audit.html"
    demo = Path(__file__).parents[2] / "demo"
    path.write_text(audit_page(audit_files([demo / "rev-d.toml"])), encoding="utf-8")
    page.driver.set_window_size(width, 900)
    page.driver.get(path.as_uri())
    tallest = page.driver.execute_script(
        "return Math.max(...[...document.querySelectorAll('.reach b')].map(b => b.offsetHeight"
        " / parseFloat(getComputedStyle(b).fontSize)))"
    )
    assert tallest < 2.0
    assert page.complaints() == []


def test_the_timing_light_prints_on_one_sheet(page: Reader) -> None:
    made = fit_readings(readings((900, 1500, 2200, 3000, 3800, 4500), offset=3, slips={4: 8.0}))
    assert sheets_of_paper(page, light_page(made)) == 1
    assert page.complaints() == []


# ---- figures


def test_ticks_are_round_and_within_the_span() -> None:
    assert ticks(0.0, 4500.0) == [0.0, 1000.0, 2000.0, 3000.0, 4000.0]
    assert ticks(-1.2, 0.7) == [-1.0, -0.75, -0.5, -0.25, 0.0, 0.25, 0.5]


def test_a_spike_of_one_sample_is_not_thinned_away() -> None:
    y = np.zeros(50_000)
    y[31_415] = 9.0
    frame = Frame((0.0, 50_000.0), (0.0, 10.0), "s", "degrees")
    top = f"{frame.at(0.0, 9.0)[1]:.1f}"
    drawn = frame.path(np.arange(50_000.0), y, "before")
    assert f" {top}" in drawn
    assert len(drawn) < 40_000


def test_a_line_is_broken_where_nothing_is_known() -> None:
    frame = Frame((0.0, 4.0), (0.0, 1.0), "s", "degrees")
    y = np.array([1.0, 1.0, np.nan, 0.0, 0.0])
    assert frame.path(np.arange(5.0), y, "before").count("M") == 2


@pytest.mark.parametrize("rpm", [(900,), (900, 2000), (900, 900, 900)])
def test_readings_that_make_no_line_are_drawn_all_the_same(rpm: tuple[int, ...]) -> None:
    html = light_page(fit_readings(readings(rpm, offset=2)))
    assert html.count("<circle") == len(rpm)
    assert "Cannot tell yet" in html


def test_a_rehearsal_shows_before_and_after_and_runs_nothing() -> None:
    html = rehearsal_page(edited(hot_statement(), ("spark.correction.charge-air.enabled", False)))
    assert html.count("<path") == 3
    assert "<script" not in html
    assert "Hot charge air (charge-air): switch" in html
    assert "is not replayed" in html


def test_a_rehearsal_without_an_account_is_a_page_too() -> None:
    statement = told(climb(), sheet("rev-d.toml", "D", [charge_air(EASED)]), delivered=False)
    html = rehearsal_page(edited(statement, ("spark.correction.charge-air.enabled", False)))
    assert "<svg" not in html
    assert "no delivered advance" in html
