"""The page in a browser: what a reader does with it, and that the numbers are the ledger's."""

import re

import numpy as np
import pytest

from tests.pages.browser import Reader
from tests.pages.climbs import HOSTILE, busy, hostile, two_maps
from tests.pages.read import ledger_of, lines_of
from tests.statements import ALL


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
    page.run("document.querySelector('#map').scrollIntoView()")
    page.until(lambda: page.run("return document.querySelectorAll('.map td.here').length") == 1)


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


def test_another_revision_s_map_is_shown_cell_by_cell(page: Reader) -> None:
    page.open(two_maps())
    assert page.run("return document.querySelector('.map-choice select').value") == "0"
    own, other = (sheet.calibration.spark.map.grid for sheet in two_maps().sheets)
    shown = [float(t.replace("−", "-")) for t in page.texts(".map td b")]
    np.testing.assert_allclose(np.array(shown).reshape(own.shape), other - own, atol=0.051)
