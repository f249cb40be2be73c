"""What came out of a control unit becomes a sheet at the desk, or it is told why it cannot."""

import json
from pathlib import Path
from urllib.parse import quote

import pytest

import tuneledger as tl
from tests.calibrations.asam import kestrel
from tests.calibrations.asam.making import intel
from tests.desk.browsing import drop, dropped
from tests.desk.browsing import kestrel as kestrel_says
from tests.desk.running import DEMO, LOG, D, Desk
from tests.logs.packing import zipped
from tests.pages.browser import Reader
from tuneledger.calibrations.asam.cdf.write import as_cdf
from tuneledger.calibrations.asam.files import Wishes
from tuneledger.calibrations.asam.mapping.back import parameters_of
from tuneledger.calibrations.check import check
from tuneledger.calibrations.text import parse
from tuneledger.desk.case import Paper, Record, Settings, files_of, load_record, save_record
from tuneledger.desk.intake import kind_of, lay_down
from tuneledger.desk.limits import DESK_USUAL
from tuneledger.desk.making import make_sheets
from tuneledger.logs.source import open_source

DESCRIBED = DEMO / "described"
A2L, HEX, MAPPING = (DESCRIBED / name for name in ("kestrel.a2l", "kestrel-d.hex", "mapping.toml"))
CHARGE_AIR_OF_C = (0.0, 0.0, 2.5, 5.0, 8.0)  # its retard in demo/rev-c.toml, counted positive


def faults(desk: Desk, *files: Path) -> list[str]:
    return list(desk.read(desk.begin(*files))["faults"])


def saved(desk: Desk, case: str, what: str) -> str:
    status, _, text = desk.ask("GET", f"cases/{case}/save/{what}")
    assert status == 200, text
    return text.decode()


def sheet_of(text: str) -> object:
    return check(parse(text))


def test_a_description_with_image_and_mapping_is_a_sheet_like_any_other(open_desk: Desk) -> None:
    case = open_desk.begin(HEX, LOG, MAPPING, A2L)
    state = open_desk.read(case)
    assert state["faults"] == []
    assert state["says"] == kestrel_says("climb.csv", "rev-d.toml").headline
    assert sheet_of(saved(open_desk, case, "made-0")) == tl.open_calibration(D)


def test_each_image_is_a_revision_and_one_of_them_is_said_to_run(
    open_desk: Desk, tmp_path: Path
) -> None:
    other = tmp_path / "kestrel-c.hex"
    memory = kestrel.memory(air=CHARGE_AIR_OF_C)
    other.write_text(intel({**memory, 0x80010: b"C   "}))
    case = open_desk.begin(LOG, A2L, MAPPING, HEX, other)
    assert open_desk.read(case)["says"].startswith("Behaves like revision C, not D")
    open_desk.told("POST", f"cases/{case}/papers", {"first": other.name})
    assert open_desk.settled(case)["says"].startswith("Hot charge air took")


def test_calibration_data_are_a_sheet_by_the_mapping(tmp_path: Path) -> None:
    data = tmp_path / "d.cdfx"
    parameters = parameters_of(tl.open_calibration(D), parse(kestrel.MAPPING)).parameters
    data.write_text(as_cdf(parameters.values(), "Kestrel"), encoding="utf-8")
    assert kind_of(open_source(data)) == "instances"
    (made,) = make_sheets(Settings((Paper(data, "instances"), Paper(MAPPING, "mapping"))))
    assert (made.name, made.source) == ("d.toml", "d.cdfx")
    assert sheet_of(made.text) == tl.open_calibration(D)


def test_they_may_come_in_one_archive(tmp_path: Path) -> None:
    files_of(tmp_path).mkdir()
    path = files_of(tmp_path) / "mail.zip"
    zipped(path, {one.name: one.read_bytes() for one in (LOG, A2L, HEX, MAPPING, D)})
    papers = lay_down(tmp_path, path, DESK_USUAL, [])
    assert {paper.name: paper.kind for paper in papers} == {
        "climb.csv": "log",
        "kestrel.a2l": "description",
        "kestrel-d.hex": "image",
        "mapping.toml": "mapping",
        "rev-d.toml": "sheet",
    }


@pytest.mark.parametrize(
    ("files", "says"),
    [
        (
            (LOG, HEX, MAPPING),
            ["kestrel-d.hex: this is an image of memory", "remove kestrel-d.hex"],
        ),
        ((LOG, A2L, MAPPING), ["kestrel.a2l: this is an ASAM MCD-2 MC", "that holds its numbers"]),
        ((LOG, A2L, HEX), ["kestrel-d.hex: no mapping lies in this case", "write it down once"]),
        ((LOG, MAPPING), ["mapping.toml: this is a mapping", "that holds what it names"]),
        ((A2L, HEX, MAPPING), ["there is no log to hold kestrel-d.toml against"]),
    ],
)
def test_what_is_missing_is_told_plainly(
    open_desk: Desk, files: tuple[Path, ...], says: list[str]
) -> None:
    told = faults(open_desk, *files)
    assert len(told) == 1
    assert all(part in told[0] for part in says)


def test_two_mappings_are_not_chosen_between(open_desk: Desk, tmp_path: Path) -> None:
    other = tmp_path / "other.toml"
    other.write_text(kestrel.MAPPING)
    (told,) = faults(open_desk, LOG, A2L, HEX, MAPPING, other)
    assert told == "2 mappings lie in this case: mapping.toml and other.toml. Leave one of them."


def test_the_faults_of_a_mapping_are_all_told(open_desk: Desk, tmp_path: Path) -> None:
    wrong = tmp_path / "wrong.toml"
    text = kestrel.MAPPING.replace("ADV_BASE", "ADV_BASF").replace('reason = "launch"', "reson = 3")
    wrong.write_text(text)
    told = faults(open_desk, LOG, A2L, HEX, wrong)
    assert told[0] == (
        'wrong.toml: spark.map.values: no parameter "ADV_BASF" in the files. Did you mean '
        '"ADV_BASE"?'
    )
    assert told[1] == 'wrong.toml: spark.correction[4].reson: unknown key. Did you mean "reason"?'


def test_a_sheet_without_a_log_can_be_saved(open_desk: Desk) -> None:
    case = open_desk.begin(A2L, HEX, MAPPING)
    open_desk.read(case)
    assert sheet_of(saved(open_desk, case, "made-0")) == tl.open_calibration(D)
    page = open_desk.ask("GET", f"cases/{case}/")[2].decode()
    assert "Made, and no log yet" in page
    assert "an image of memory, becomes a sheet: kestrel-d.toml" in page


def test_where_the_mapping_is_missing_the_page_lists_what_it_can_name(open_desk: Desk) -> None:
    case = open_desk.begin(LOG, A2L, HEX)
    open_desk.read(case)
    page = open_desk.ask("GET", f"cases/{case}/")[2].decode()
    assert "What a mapping can name: 17 parameters" in page
    assert "Base spark advance" in page


def test_an_image_of_another_version_is_read_when_somebody_says_so(
    open_desk: Desk, tmp_path: Path
) -> None:
    other = tmp_path / "other.hex"
    other.write_text(intel(kestrel.memory("KESTREL-X-9999")))
    case = open_desk.begin(A2L, MAPPING, other)
    (told,) = open_desk.read(case)["faults"]
    assert 'other.hex: the image is marked "KESTREL-X-9999"' in told
    wishes = {"wishes": {"shift": "0", "order": "", "mismatched": True}}
    open_desk.told("POST", f"cases/{case}/papers", wishes)
    (told,) = open_desk.settled(case)["faults"]
    assert told.startswith("there is no log to hold other.toml against")


@pytest.mark.parametrize(
    "wishes", [{"shift": "a lot"}, {"order": "UPWARDS"}, {"shift": "0x1" + 20 * "0"}]
)
def test_wishes_that_are_none_are_refused_in_words(open_desk: Desk, wishes: object) -> None:
    case = open_desk.begin(LOG)
    status, _, text = open_desk.ask(
        "POST", f"cases/{quote(case)}/papers", json.dumps({"wishes": wishes})
    )
    assert (status, "this is no shift of addresses" in text.decode()) == (422, True)


def test_what_was_said_of_a_case_is_kept(tmp_path: Path) -> None:
    files_of(tmp_path).mkdir()
    papers = (Paper(HEX, "image", own=False), Paper(MAPPING, "mapping", own=False))
    record = Record(Settings(papers, wishes=Wishes(-16, "MSB_LAST", mismatched=True)))
    save_record(tmp_path, record)
    assert load_record(tmp_path) == record
    given = json.loads((tmp_path / "case.json").read_text())
    given["papers"] = [{"path": str(LOG), "sheet": False, "own": False}]  # as it once was written
    del given["wishes"]
    (tmp_path / "case.json").write_text(json.dumps(given))
    assert load_record(tmp_path) == Record(Settings((Paper(LOG, "log", own=False),)))


def test_a_mapping_that_is_added_on_the_page_makes_the_statement(page: Reader) -> None:
    drop(page, *((one.name, one.read_text(encoding="utf-8")) for one in (LOG, A2L, HEX)))
    page.until(lambda: page.run("return document.querySelector('#contents') !== null"), 45)
    dropped(page, MAPPING)
    heads = page.run("return [...document.querySelectorAll('#saves a')].map(a => a.textContent)")
    assert heads[-1] == "kestrel-d.toml"
