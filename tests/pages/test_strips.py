"""Pictures for files: that they hold the account's numbers, and nothing that could do harm."""

import re
import xml.etree.ElementTree as ET

import numpy as np
import pytest

from tests.pages.climbs import HOSTILE, busy, hostile
from tests.statements import ALL, no_delivered
from tuneledger.errors import UsageError
from tuneledger.pages.strips import figure
from tuneledger.statement.model import Statement

SVG = "{http://www.w3.org/2000/svg}"


def texts(svg: str) -> list[str]:
    return [node.text or "" for node in ET.fromstring(svg).iter(f"{SVG}text")]


@pytest.mark.parametrize("name", sorted(name for name in ALL if name != "no_delivered"))
def test_every_statement_has_a_picture(name: str) -> None:
    statement = ALL[name]()
    if any(account.ledger is None for account in statement.logs):
        pytest.skip("there is no account")
    root = ET.fromstring(figure(statement))
    heights = [float(part.attrib["height"]) for part in root.iter(f"{SVG}svg")][1:]
    assert float(root.attrib["height"]) >= sum(heights)


def test_a_cause_is_drawn_with_its_thresholds_in_the_channel_s_unit() -> None:
    said = texts(figure(busy(), "cause 2"))
    assert "above 55 %" in said
    assert any(text.startswith("Plate, %") for text in said)


def test_seconds_are_the_window() -> None:
    ticks = [float(t) for t in texts(figure(busy(), "12.5-18")) if re.fullmatch(r"\d+(\.\d+)?", t)]
    assert {13.0, 14.0, 15.0, 16.0, 17.0, 18.0} <= set(ticks)


def test_the_map_holds_the_mean_differences() -> None:
    statement = busy()
    ledger, log = statement.logs[0].ledger, statement.logs[0].log
    assert ledger is not None
    rev, boost = log.find("Rev"), log.find("Boost abs")
    assert rev is not None
    assert boost is not None
    axes = statement.sheets[0].calibration.spark.map.axes
    row = np.abs(log.values(boost)[:, None] - np.array(axes[0].at)).argmin(axis=1)
    column = np.abs(log.values(rev)[:, None] - np.array(axes[1].at)).argmin(axis=1)
    here = (row == 0) & (column == 0)
    shown = next(t for t in texts(figure(statement, "map")) if t.endswith("°"))
    assert float(shown[:-1].replace("−", "-")) == pytest.approx(
        ledger.difference[here].mean(), abs=0.051
    )


def test_names_that_are_markup_stay_text() -> None:
    svg = figure(hostile())
    ET.fromstring(svg)
    assert "<script" not in svg
    assert "<img" not in svg
    assert any(HOSTILE[:30] in text for text in texts(svg))


@pytest.mark.parametrize("what", ["soup", "cause 99", "cause 0", "18-12", "5000-6000"])
def test_what_is_not_there_is_told(what: str) -> None:
    with pytest.raises(UsageError):
        figure(busy(), what)


def test_without_an_account_there_is_no_picture() -> None:
    statement: Statement = no_delivered()
    with pytest.raises(UsageError, match="no account"):
        figure(statement)
