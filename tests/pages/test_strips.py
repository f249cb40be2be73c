"""Pictures for files: that they hold the account's numbers, and nothing that could do harm."""

import re
import struct
import xml.etree.ElementTree as ET
from io import BytesIO
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.explain.parts import pulling, with_lever
from tests.explain.told import told
from tests.pages.climbs import HOSTILE, busy, hostile
from tests.runs import climb, governor
from tests.statements import ALL, no_delivered
from tuneledger.errors import OutputError, UsageError
from tuneledger.pages import raster
from tuneledger.pages.hatching import HATCHED
from tuneledger.pages.picture import LABEL, WIDTH, beside, wide, wrapped
from tuneledger.pages.raster import check_picture, picture_output, writes
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


def test_a_rule_read_out_of_the_log_is_told_by_what_it_does() -> None:
    run = with_lever(climb())
    said = " ".join(texts(figure(told(run.post("x", pulling(run, -4.0))))))
    assert "Rule read out of the log (−4.0° while Lever is 1)" in said
    assert "Hidden rule" not in said


def test_the_idle_governor_is_called_that_although_no_sheet_lists_it() -> None:
    run = climb()
    said = texts(figure(told(run.post("x", governor(run)))))
    assert any(text.startswith("± Idle governor, ") for text in said)


def test_a_picture_tells_signs_and_entries_apart_as_the_page_does() -> None:
    run = climb()
    svg = figure(told(run.post("x", governor(run))))
    assert {"− below scheduled", "+ above scheduled"} <= set(texts(svg))
    root = ET.fromstring(svg)
    ids = {node.attrib["id"] for node in root.iter(f"{SVG}pattern")}
    assert set(re.findall(r"url\(#(\w+)\)", svg)) == ids
    drawn = {f"hatch{i}" for i in range(1, len(HATCHED))}
    used = set(re.findall(r'class="band (?:takes|adds) ?(\w*)"', svg))
    assert used <= drawn | {""}


def test_a_cause_that_was_asked_for_is_what_the_picture_says() -> None:
    statement = busy()
    head = texts(figure(statement, "cause 2"))[0]
    assert statement.causes[1].says.startswith(head[:30])


def test_seconds_stand_only_under_the_last_strip() -> None:
    assert texts(figure(busy())).count("seconds") == 1


# ---- names beside lines


@given(
    st.lists(st.floats(0.0, 120.0), min_size=0, max_size=12),
    st.floats(60.0, 120.0),
)
def test_no_name_of_a_threshold_lies_over_another(wanted: list[float], high: float) -> None:
    placed = beside([(y, "name") for y in wanted], 12.0, high)
    heights = [y for _, y in placed]
    assert all(b - a >= LABEL - 1e-9 for a, b in pairwise(heights))
    assert all(12.0 - 1e-9 <= y <= high + 1e-9 for y in heights)
    assert len({i for i, _ in placed}) == len(placed)
    assert bool(placed) == bool(wanted)


def test_a_name_that_has_room_stands_at_its_line() -> None:
    assert beside([(40.0, "a"), (80.0, "b")], 12.0, 100.0) == [(0, 40.0), (1, 80.0)]


def test_where_there_is_no_room_for_all_the_most_important_stay() -> None:
    placed = beside([(50.0, "a")] * 9, 12.0, 12.0 + 2 * LABEL)
    assert {i for i, _ in placed} == {0, 1, 2}


@given(st.text(alphabet="abc mW−°", min_size=1, max_size=300), st.floats(50.0, 900.0))
def test_a_long_title_is_broken_and_loses_no_word(text: str, room: float) -> None:
    lines = wrapped(text, room)
    assert " ".join(lines).split() == text.split()
    assert all(wide(line) <= room or " " not in line for line in lines)


# ---- as PNG


def test_a_png_is_a_picture_of_twice_the_size(tmp_path: Path) -> None:
    pytest.importorskip("resvg_py")
    svg = figure(busy())
    (made := picture_output(tmp_path / "a.PNG", svg)).write(file := BytesIO())
    assert made.path.name == "a.PNG"
    head = file.getvalue()[:24]
    assert head[:8] == b"\x89PNG\r\n\x1a\n"
    width, height = struct.unpack(">II", head[16:24])
    root = ET.fromstring(svg)
    assert (width, height) == (2 * WIDTH, 2 * int(root.attrib["height"]))


def test_without_its_library_a_png_is_refused_with_what_to_install(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(raster, "find_spec", lambda name: None)
    with pytest.raises(OutputError, match="pip install resvg-py"):
        check_picture(Path("a.png"))
    check_picture(Path("a.svg"))


def test_without_a_font_no_picture_without_words_is_written() -> None:
    resvg = pytest.importorskip("resvg_py")

    def bare(**given: Any) -> bytes:
        return bytes(resvg.svg_to_bytes(skip_system_fonts=True, **given))

    assert not writes(bare, "DejaVu Sans")


@pytest.mark.parametrize("name", ["a.jpg", "a"])
def test_another_ending_is_refused(name: str) -> None:
    with pytest.raises(OutputError, match=r"ends in \.svg or \.png"):
        check_picture(Path(name))


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
