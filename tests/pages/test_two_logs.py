"""Several logs on one page: strips and slips of their own, side by side."""

import numpy as np
import pytest

from tests.pages.browser import Reader
from tests.pages.read import choose
from tests.statements import no_delivered, two_logs
from tuneledger.pages import visits
from tuneledger.wording import degrees


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


def test_two_logs_are_shifted_against_one_another(page: Reader) -> None:
    page.open(two_logs())
    choose(page, "#beside-log", "1")
    page.run(
        "const s = document.querySelector('#beside-shift'); s.value = '3.5';"
        "s.dispatchEvent(new Event('input'))"
    )
    assert "afternoon.csv, +3.5 s" in page.texts(".strip.balance .strip-head")[1]
    page.point(0.4)
    ledger = two_logs().logs[1].ledger
    assert ledger is not None
    time = float(page.slip()["time"][:-2])
    row = int(np.abs(ledger.times - (time + 3.5)).argmin())
    shown = dict(
        zip(page.texts("#beside .field .name"), page.texts("#beside .field .amount"), strict=True)
    )
    assert shown["delivered"] == degrees(float(ledger.delivered[row]), signed=False)
    assert page.text("#beside .where").startswith(f"{ledger.times[row]:.2f} s")
    strip = page.texts(".strip.balance .strip-value")[1].split()
    assert strip[-1] == shown["delivered"]
    page.until(lambda: "shift=3.5" in page.run("return location.hash"))
    page.driver.refresh()
    page.drawn()
    assert page.run("return document.querySelector('#beside-shift').value") == "3.5"
    assert "afternoon.csv, +3.5 s" in page.texts(".strip.balance .strip-head")[1]
    choose(page, "#beside-link", "point")
    assert page.run("return document.querySelector('#beside-shift').closest('label').hidden")
