"""The desk's parts by themselves: names, settings on the disk, what is told, what is missing."""

import re
import shutil
import subprocess
import sys
from dataclasses import replace
from importlib.resources import files
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.desk.browsing import kestrel
from tests.desk.running import LOG, C, D
from tuneledger.change.edits import Edit
from tuneledger.desk.case import Paper, Record, Settings, files_of, load_record, save_record
from tuneledger.desk.drawer import Drawer
from tuneledger.desk.intake import free_name, safe_name
from tuneledger.desk.limits import DESK_USUAL
from tuneledger.desk.serve import check_installed
from tuneledger.desk.told import told_of
from tuneledger.desk.whatif import read_edits, running_sheet, what_if
from tuneledger.desk.work import Terms
from tuneledger.errors import ChangeError, RolesError, UsageError
from tuneledger.pages.document import modules
from tuneledger.pages.notes import read_notes
from tuneledger.roles import RolesFile


@given(st.text(max_size=400))
def test_a_safe_name_is_one_file_in_its_folder(given_name: str) -> None:
    name = safe_name(given_name)
    assert 0 < len(name) <= 121
    assert name not in (".", "..")
    assert not set(name) & set('<>:"/\\|?*')
    assert name.isprintable()
    assert safe_name(name) == name


@given(st.lists(st.sampled_from(["a.csv", "A.csv", "b", "b.toml", ".csv"]), max_size=12))
def test_names_that_arrive_twice_are_numbered(names: list[str]) -> None:
    taken: list[str] = []
    for name in names:
        taken.append(free_name(name, taken))
    assert len({name.casefold() for name in taken}) == len(names)


def test_what_is_kept_of_a_case_is_read_back(tmp_path: Path) -> None:
    files_of(tmp_path).mkdir()
    own = files_of(tmp_path) / "log.csv"
    own.write_bytes(b"x")
    record = Record(
        Settings((Paper(own, "log"), Paper(D, "sheet", own=False)), "rev-d.toml",
                 RolesFile({"engine speed": "Rev"}, {"Boost": "psi"})),
        (Edit("spark.correction.rain.amount", -2.0), Edit("spark.correction.rain.enabled", False)),
        "",
        ({"cause": "x", "title": "X", "expected": True, "says": "as agreed"},),
    )  # fmt: skip
    save_record(tmp_path, record)
    assert load_record(tmp_path) == record
    own.unlink()
    again = load_record(tmp_path)
    assert again is not None
    assert [paper.name for paper in again.settings.papers] == ["rev-d.toml"]


@pytest.mark.parametrize("text", ["", "{}", "[]", '{"format": "tuneledger-case/1"}', "\x00"])
def test_a_damaged_case_is_left_alone(tmp_path: Path, text: str) -> None:
    (tmp_path / "case.json").write_text(text)
    assert load_record(tmp_path) is None
    assert load_record(tmp_path / "nowhere") is None


def test_a_kept_name_leads_nowhere_else(tmp_path: Path) -> None:
    """A case.json that somebody has tampered with names no file outside its own folder."""
    files_of(tmp_path).mkdir()
    (tmp_path / "secret").write_text("x")
    save_record(tmp_path, Record(Settings((Paper(tmp_path / "../secret", "log"),))))
    record = load_record(tmp_path)
    assert record is not None
    assert record.settings.papers == ()


def test_a_channel_is_one_signal_and_an_empty_answer_takes_back() -> None:
    statement = kestrel(LOG.name, D.name)
    told = told_of(statement, RolesFile(), {"signal": "engine speed", "channel": "Frame"})
    told = told_of(statement, told, {"signal": "vehicle speed", "channel": " frame "})
    assert told.roles == {"vehicle speed": "Frame"}
    told = told_of(statement, told, {"channel": "Frame", "unit": "rpm"})
    assert told.units == {"Frame": "rpm"}
    told = told_of(statement, told, {"signal": "vehicle speed", "channel": ""})
    assert told.roles == {}
    with pytest.raises(RolesError, match="no unit"):
        told_of(statement, told, {"channel": "Frame", "unit": "furlong"})


def test_edits_start_from_the_sheet_that_the_car_behaves_like() -> None:
    statement = kestrel(LOG.name, D.name, C.name)
    sheet = running_sheet(statement)
    assert sheet is not None
    assert sheet.file == C.name
    found = what_if(statement, (), D.name)
    assert found is not None
    assert {change.place for change in found.changes} >= {"spark.correction.launch.enabled"}
    with pytest.raises(ChangeError):
        what_if(statement, [Edit("spark.correction.nobody.amount", 1.0)])


def test_of_several_revisions_in_turn_edits_start_from_the_last() -> None:
    statement = kestrel(LOG.name, D.name, C.name)
    assert statement.running is not None
    (span,) = statement.running.spans
    middle = (span.start_s + span.end_s) * 0.9
    first, last = (
        replace(span, end_s=middle),
        replace(span, start_s=middle, revision="D", file=D.name),
    )
    turned = replace(statement, running=replace(statement.running, spans=(first, last)))
    sheet = running_sheet(turned)
    assert sheet is not None
    assert sheet.file == D.name


@pytest.mark.parametrize("to", [float("nan"), float("inf"), "1", None, [1]])
def test_an_edit_is_a_switch_or_a_number(to: object) -> None:
    with pytest.raises(ChangeError):
        read_edits([{"place": "spark.limits.lowest", "to": to}])


def test_there_is_a_bound_on_cases(tmp_path: Path) -> None:
    drawer = Drawer(tmp_path, Terms(DESK_USUAL), kept=False)
    for _ in range(DESK_USUAL.cases):
        drawer.begin()
    with pytest.raises(UsageError, match="Put some away"):
        drawer.begin()


@pytest.mark.parametrize("part", ["starlette", "uvicorn"])
def test_without_its_extra_it_says_what_to_install(
    part: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(sys.modules, part, None)
    with pytest.raises(UsageError, match=r"extra 'desk' \(pip install starlette uvicorn\)"):
        check_installed()


WEB = Path(str(files("tuneledger.desk").joinpath("web")))


def test_the_desk_s_modules_import_only_one_another_and_the_page_s() -> None:
    own = {f"#desk/{path.name}": path.read_text(encoding="utf-8") for path in WEB.glob("*.js")}
    known = {**modules(), **own}
    for name, text in own.items():
        for wanted in re.findall(r'(?:from|import)\s+"([^"]+)"', text):
            assert wanted in known, f"{name} imports {wanted}"
        assert "http" not in text
        assert "innerHTML" not in text
        assert text.count("\n") < 275


@pytest.mark.skipif(shutil.which("tsc") is None, reason="no TypeScript checker here")
def test_types_in_the_desk_s_modules_hold() -> None:
    run = subprocess.run(["tsc", "-p", str(WEB)], capture_output=True, text=True, check=False)
    assert run.returncode == 0, run.stdout


@pytest.mark.parametrize("number", [10**400, -(10**400), float("nan"), float("inf")])
def test_a_number_beyond_all_numbers_is_no_edit(number: float) -> None:
    with pytest.raises(ChangeError, match="not a number"):
        read_edits([{"place": "spark.map.values[0][0]", "to": number}])


def test_notes_nested_without_measure_are_none() -> None:
    with pytest.raises(UsageError, match="not a file of notes"):
        read_notes("[" * 200_000, "n.json")
