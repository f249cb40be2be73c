"""A change order on the screen, on paper and on disk."""

import json
import re
from html import unescape
from pathlib import Path

import pytest

from tests.change.orders import EDIT, hot, one_sheet, ordered
from tests.change.test_order_raises import UNSEEN
from tests.explain.parts import DEG
from tests.explain.told import told
from tests.runs import charge_air, climb, sheet
from tuneledger.calibrations import open_calibration
from tuneledger.change.order_out import as_json, as_text
from tuneledger.cli.main import run as cli
from tuneledger.pages.order import order_page


def test_the_answer_has_its_keys() -> None:
    answer = as_json(ordered(one_sheet(), EDIT))
    assert list(answer) == [
        *("format", "revision", "withheld", "questions", "edits", "besides", "steps"),
        *("log", "drive", "cautions"),
    ]
    assert answer["format"] == "tuneledger-order/1"
    revisions = {"in_car": "D", "edited_from": "D", "first_sheet": "D", "to": "E"}
    assert answer["revision"] == {**revisions, "file": "rev-d.toml"}
    assert json.loads(json.dumps(answer)) == answer


def test_the_page_runs_nothing_and_names_from_files_are_text() -> None:
    evil = charge_air(DEG) | {"title": "<script>alert(1)</script>\u202e"}
    statement = told(hot(climb()), sheet("rev-d.toml", "D", [evil]))
    page = order_page(ordered(statement, EDIT))
    assert "<script" not in page
    assert "\u202e" not in page
    assert not re.search(r"src=|href=|url\(", page)
    assert "default-src 'none'" in unescape(page)


def files_of_kestrel(folder: Path) -> None:
    demo = Path(__file__).parents[2] / "demo"
    for name in ("climb.csv", "rev-c.toml", "rev-d.toml"):
        (folder / name).write_bytes((demo / name).read_bytes())
    (folder / "eased.toml").write_text(
        'format = "tuneledger-changes/1"\n[[change]]\n'
        'place = "spark.correction.charge-air.values[4]"\nto = -6.0\n'
    )


def test_kestrel_s_order_comes_with_its_sheet_and_keeps_its_lines(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    files_of_kestrel(tmp_path)
    old = Path("rev-c.toml").read_text().replace("[[spark", "# as agreed in May\n[[spark", 1)
    Path("rev-c.toml").write_text(old)
    call = ["order", "climb.csv", "rev-c.toml", "--change", "eased.toml", "--no-memory"]
    assert cli([*call, "--sheet", "rev-e.toml"]) == 2, "it needs a revision name of its own"
    assert not Path("rev-e.toml").exists()
    outputs = ["--sheet", "rev-e.toml", "--page", "o.html", "--json", "o.json"]
    assert cli([*call, "--revision", "E", *outputs]) == 1
    new = Path("rev-e.toml").read_text()
    changed = [
        (one, other)
        for one, other in zip(old.splitlines(), new.splitlines(), strict=True)
        if one != other
    ]
    assert changed == [
        ('revision = "C"', 'revision = "E"'),
        ("values = [0.0, 0.0, -2.5, -5.0, -8.0]", "values = [0.0, 0.0, -2.5, -5.0, -6.0]"),
    ]
    assert open_calibration("rev-e.toml").revision == "E"
    assert json.loads(Path("o.json").read_text())["edits"][0]["after"] == -6.0
    assert "Hot charge air" in Path("o.html").read_text()


def test_a_bad_change_file_writes_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    files_of_kestrel(tmp_path)
    Path("bad.toml").write_text('format = "tuneledger-changes/1"\n')
    call = ["order", "climb.csv", "rev-c.toml", "--change", "bad.toml", "--page", "o.html"]
    assert cli([*call, "--json", "o.json", "--no-memory"]) == 2
    assert not Path("o.html").exists()
    assert not Path("o.json").exists()


def test_a_numbered_step_hangs_from_its_number() -> None:
    rows = as_text(ordered(one_sheet(), UNSEEN)).splitlines()
    first = next(i for i, row in enumerate(rows) if row.startswith("Steps      1. "))
    steps = rows[first : rows.index("", first)]
    numbers = [row for row in steps if row[11:13].strip(". ").isdigit()]
    assert len(numbers) >= 7
    assert len(steps) > len(numbers), "none of them is so long that it is broken"
    rest = [row for row in steps if row not in numbers]
    assert all(row.startswith(" " * 14) and row[14] != " " for row in rest)
