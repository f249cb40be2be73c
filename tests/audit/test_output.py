"""What the audit prints, writes and accepts."""

import json
import re
from html import unescape
from pathlib import Path
from typing import Any

import pytest

from tests.audit.sheetlike import CELLS, PRESSURES, SPEEDS, THROTTLE, audited, map_of, sheet
from tests.shared import SHARED, needs_cases
from tuneledger.audit.groups import groups
from tuneledger.audit.job import audit_files
from tuneledger.audit.json import as_json
from tuneledger.audit.text import as_text
from tuneledger.calibrations import open_calibration
from tuneledger.calibrations.paths import put
from tuneledger.calibrations.write import to_toml
from tuneledger.cli.main import run
from tuneledger.pages.audit import audit_page

WET = {"channel": "Wet switch", "is": "on"}
RAIN = {"id": "rain", "amount": -4.0, "when": [THROTTLE | {"above": 55.0}]}
GUARD = {"id": "guard", "amount": 6.0, "reason": "sensor guard", "when": [WET]}


@pytest.fixture
def rev_a(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A sheet with one doubt in it, in a folder of its own."""
    monkeypatch.chdir(tmp_path)
    path = tmp_path / "rev-a.toml"
    path.write_text("# kept by hand\n" + to_toml(sheet(RAIN)), encoding="utf-8")
    return path


# ---- JSON


def test_the_json_has_the_contracts_keys() -> None:
    answer = as_json(audited(sheet(RAIN, GUARD)))
    assert answer["format"] == "tuneledger-findings/1"
    for finding in answer["findings"]:
        assert {"check", "severity", "places", "says", "do"} <= finding.keys()
        assert finding["severity"] in ("danger", "fault", "doubt", "note")
        assert all(re.match(r"rev-a\.toml:[a-z]", place) for place in finding["places"])
    (reach,) = answer["reach"]
    assert reach["file"] == "rev-a.toml"
    assert len(reach["cells"]) == len(PRESSURES) * len(SPEEDS)
    assert reach["cells"][7] == {
        "at": [60.0, 1500.0],
        "lowest_deg": CELLS[1][1] - 4.0,
        "highest_deg": CELLS[1][1] + 6.0,
        "exact": True,
        "lowest_by": ["rain"],
        "highest_by": ["guard"],
    }
    json.dumps(answer, allow_nan=False)


def test_a_cell_that_nobody_knows_is_null() -> None:
    rows: list[list[Any]] = [["?", *row[1:]] for row in CELLS]
    (reach,) = as_json(audited(sheet(map=map_of(rows))))["reach"]
    assert reach["cells"][0]["lowest_deg"] is None
    assert reach["cells"][1]["lowest_deg"] == CELLS[0][1]


def test_a_map_that_is_one_number_has_one_cell() -> None:
    (reach,) = as_json(audited(sheet(RAIN, map={"amount": 20.0})))["reach"]
    assert [(c["at"], c["lowest_deg"], c["highest_deg"]) for c in reach["cells"]] == [
        ([], 16.0, 20.0)
    ]


# ---- text


@pytest.mark.parametrize(
    ("table", "says"), [({"amount": 20.0}, "20.0°"), (map_of(), "6.0° to 34.0°")]
)
def test_of_a_map_that_nothing_moves_that_is_said(table: dict[str, Any], says: str) -> None:
    assert f"Reach      nothing moves the map's own {says}\n" in as_text(audited(sheet(map=table)))


def test_a_danger_is_the_headline() -> None:
    said = as_text(audited(sheet(RAIN, GUARD)))
    assert said.startswith(
        "Stop: guard is there to protect (sensor guard), yet it can add up to +6.0°"
    )


@pytest.mark.parametrize("height", [10, 24, 40, 60])
def test_every_danger_and_every_fault_is_told_in_full_on_any_screen(height: int) -> None:
    guards = [GUARD | {"id": f"guard-{n}"} for n in range(7)]
    waits = [
        {"id": f"waits-{n}", "amount": -2.0, "when": [THROTTLE | {"above": 120.0 + n}]}
        for n in range(4)
    ]
    rains = [RAIN | {"id": f"rain-{n}"} for n in range(5)]
    said = " ".join(as_text(audited(sheet(*guards, *waits, *rains)), height=height).split())
    for n in range(7):
        assert f"guard-{n} is there to protect" in said
    for n in range(4):
        assert f"waits-{n} waits for" in said
    assert "more findings; --all shows them" in said, "what is milder may be folded"


def test_doubts_are_summed_up_and_nothing_is_said_to_be_safe() -> None:
    said = as_text(audited(sheet(RAIN)))
    assert said.startswith("No danger or fault found; 1 doubt: thresholds that may flicker.")
    assert "nothing here says that a" in said


def test_of_several_revisions_each_note_says_on_which_it_is_and_the_counts_agree() -> None:
    rain = [RAIN | {"amount": degrees} for degrees in (-4.0, -3.0, -2.0)]
    three = [sheet(one, revision=name) for one, name in zip(rain, "ABC", strict=True)]
    result = audited(*three)
    brief = " ".join(as_text(result, height=200).split())
    found = int(re.findall(r"(\d+) notes", brief)[0])
    older = int(re.findall(r"and (\d+) notes? on older revisions only", brief)[0])
    told = [one for group in groups(result) if (one := group.first).severity == "note"]
    assert found == len(told)
    assert older == sum(all("rev-c" not in f.places[0] for f in [one]) for one in told)
    assert "Revision C: rain changed by +1.0° since revision B." in brief
    whole = " ".join(as_text(result, everything=True).split())
    assert "Revision B: rain changed by +1.0° since revision A." in whole
    assert "Revision A: rain moves the advance by −4.0°" in whole


@pytest.mark.parametrize("width", [40, 80, 120])
@pytest.mark.parametrize("height", [30, 40, 60])
def test_it_fits_the_screen(width: int, height: int) -> None:
    many = [RAIN | {"id": f"rain-{n}", "amount": -4.0 - n} for n in range(12)]
    lines = as_text(audited(sheet(*many)), width=width, height=height).splitlines()
    assert max(map(len, lines)) <= width
    assert len(lines) <= height or width == 40
    whole = " ".join(as_text(audited(sheet(*many)), everything=True).split())
    assert whole.count("without hysteresis") == 12


def test_plain_text_has_no_codes_and_colour_says_the_same() -> None:
    result = audited(sheet(RAIN, GUARD))
    plain, coloured = as_text(result), as_text(result, colour=True)
    assert "\x1b" not in plain
    assert re.sub(r"\x1b\[[\d;]*m", "", coloured) == plain


def test_the_picture_shows_how_far_each_cell_goes() -> None:
    said = as_text(audited(sheet(RAIN, limits={"lowest": 5.0})), height=60)
    assert "220 5…6* 5…7* 7…11 11…15 13…17 13…17" in re.sub(" +", " ", said)


def test_a_stranger_cannot_move_the_cursor() -> None:
    said = as_text(audited(sheet(RAIN | {"title": "red \x1b[31m"})))
    assert "\x1b" not in said
    assert "\\x1b[31m" in said


# ---- the page


def test_the_page_holds_findings_and_reach_and_needs_nothing_else() -> None:
    page = audit_page(audited(sheet(RAIN | {"title": "<script>alert(1)</script>"}, GUARD)))
    assert page == audit_page(audited(sheet(RAIN | {"title": "<script>alert(1)</script>"}, GUARD)))
    assert "<script" not in page
    assert "default-src 'none'" in unescape(page)
    assert page.count("<td class=") == len(PRESSURES) * len(SPEEDS)
    assert "Too much advance can detonate an engine in seconds" in page
    assert not re.search(r"(src|href)=", page)


def test_the_page_of_a_map_over_three_axes_has_a_table_for_each_layer() -> None:
    gear = {"signal": "gear", "at": [1.0, 2.0]}
    layered = map_of()
    whole = {"axes": [gear, *layered["axes"]], "values": [CELLS, CELLS]}
    assert audit_page(audited(sheet(RAIN, map=whole))).count('class="reach"') == 2


# ---- accepted findings


def test_an_accepted_finding_stays_so_while_nothing_changes(rev_a: Path) -> None:
    assert run(["audit", str(rev_a)]) == 1
    assert run(["audit", str(rev_a), "--accept", "1", "--reason", "it has its own"]) == 0
    text = rev_a.read_text(encoding="utf-8")
    assert text.startswith("# kept by hand\n"), "the rest of the sheet stays as it was"
    (finding,) = (f for f in audit_files([rev_a]).findings if f.check == "flicker")
    assert finding.accepted == "it has its own"

    moved = put(open_calibration(rev_a), "notes", "another note")
    moved = put(moved, "spark.correction[1]", {"id": "other", "amount": -1.0, "when": [WET]})
    assert not audited(moved).open, "what is elsewhere does not matter"

    changed = put(open_calibration(rev_a), "spark.correction.rain.amount", -5.0)
    (again,) = audited(changed).open
    assert "It was accepted (it has its own), but what it is about has changed since." in again.says


def test_a_correction_that_moves_up_the_list_keeps_its_acceptance() -> None:
    def with_accepted(*corrections: dict[str, Any]) -> Any:
        told = as_json(audited(sheet(RAIN)))["findings"]
        of = next(finding["mark"] for finding in told if finding["check"] == "flicker")
        word = {
            "check": "flicker",
            "places": ["spark.correction.rain"],
            "reason": "meant",
            "of": of,
        }
        return sheet(*corrections, audit={"accepted": [word]})

    assert not audited(with_accepted(RAIN)).open
    assert not audited(with_accepted({"id": "first", "amount": -1.0, "when": [WET]}, RAIN)).open
    gone = audited(with_accepted({"id": "first", "amount": -1.0, "when": [WET]}))
    assert not gone.open


def test_only_what_is_open_can_be_accepted(rev_a: Path, capsys: pytest.CaptureFixture[str]) -> None:
    before = rev_a.read_bytes()
    assert run(["audit", str(rev_a), "--accept", "7", "--reason", "x"]) == 2
    assert "there is no finding 7" in capsys.readouterr().err
    assert run(["audit", str(rev_a), "--accept", "1"]) == 2
    assert rev_a.read_bytes() == before


# ---- the command


def test_the_command_writes_what_was_asked_for(
    rev_a: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["audit", str(rev_a), "--json", "a.json", "--page", "a.html"]) == 1
    assert "Written    a.json and a.html" in capsys.readouterr().out
    answer = json.loads(Path("a.json").read_text(encoding="utf-8"))
    assert answer["findings"][0]["check"] == "flicker"
    assert run(["audit", str(rev_a), "--json", "-"]) == 1
    assert json.loads(capsys.readouterr().out) == answer


def test_exit_statuses(rev_a: Path, capsys: pytest.CaptureFixture[str]) -> None:
    Path("fine.toml").write_text(to_toml(sheet(RAIN | {"ramp": 20.0})), encoding="utf-8")
    unknown = map_of([["?"] * len(row) for row in CELLS])
    Path("unknown.toml").write_text(to_toml(sheet(map=unknown)), encoding="utf-8")
    Path("broken.toml").write_text("format = 3", encoding="utf-8")
    assert run(["audit", "fine.toml"]) == 0
    assert run(["audit", str(rev_a)]) == 1
    assert run(["audit", "broken.toml", "--json", "b.json"]) == 2
    assert run(["audit", "fine.toml", "fine.toml"]) == 2
    assert run(["audit", "unknown.toml"]) == 3
    assert not Path("b.json").exists()
    capsys.readouterr()


# ---- with a log


@needs_cases
@pytest.mark.parametrize("case", sorted(p.name for p in (SHARED / "cases").glob("*-1")))
def test_every_shared_sheet_is_audited_with_its_log(case: str) -> None:
    folder = SHARED / "cases" / case
    sheets = sorted(folder.glob("rev-*.toml"))
    if not sheets:
        pytest.skip("this case has no sheet")
    result = audit_files(sheets, log=folder / "log.csv")
    assert not [f.says for f in result.findings if "fault of its own" in f.says]
    assert all(s.reach.exact for s in result.sheets)


def test_a_log_shows_where_a_map_ends_too_early() -> None:
    demo = Path(__file__).parents[2] / "demo"
    short = put(open_calibration(demo / "rev-d.toml"), "spark.map.axes[0].at[5]", 180.0)
    short = put(short, "spark.map.axes[0].at[6]", 190.0)
    with_log = audit_files([demo / "rev-d.toml"], log=demo / "climb.csv").sheets[0].log
    told = [f for f in audited(short, log=with_log).findings if f.check == "axis-short"]
    assert [f.places for f in told] == [("rev-d.toml:spark.map.axes[0]",)]
    assert "climb.csv shows manifold absolute pressure up to" in told[0].says
    long_enough = open_calibration(demo / "rev-d.toml")
    assert not [f for f in audited(long_enough, log=with_log).findings if f.check == "axis-short"]
