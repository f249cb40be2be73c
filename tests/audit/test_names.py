"""Sheets that bear one name: of a file, or of a revision."""

from pathlib import Path

import pytest

from tests.audit.parts import WET, amount, revision
from tests.audit.sheetlike import CELLS, SPEEDS, audited, found, map_of
from tuneledger.audit.job import audit_files
from tuneledger.audit.json import as_json
from tuneledger.audit.names import files_apart
from tuneledger.audit.text import as_text
from tuneledger.calibrations import open_calibration
from tuneledger.calibrations.model import Calibration
from tuneledger.calibrations.write import to_toml
from tuneledger.cli.main import run


def written(path: Path, calibration: Calibration) -> Path:
    path.parent.mkdir(exist_ok=True)
    path.write_text(to_toml(calibration), encoding="utf-8")
    return path


def test_files_are_told_apart_by_as_few_folders_as_it_takes() -> None:
    paths = [Path("/one/may/d.toml"), Path("/two/may/d.toml"), Path("/two/june/c.toml")]
    assert files_apart(paths) == ["one/may/d.toml", "two/may/d.toml", "c.toml"]


def test_two_files_of_one_name_keep_their_own_findings_and_marks(tmp_path: Path) -> None:
    """The newer one has a correction more, which the older has no place for."""
    files = [
        written(tmp_path / "old" / "d.toml", revision("C", amount(-4.0, WET))),
        written(tmp_path / "new" / "d.toml", revision("D", amount(-4.0, WET), amount(9.0, WET))),
    ]
    answer = as_json(audit_files(files))
    assert [reach["file"] for reach in answer["reach"]] == ["old/d.toml", "new/d.toml"]
    added = [f for f in answer["findings"] if f["places"] == ["new/d.toml:spark.correction[1]"]]
    assert {f["check"] for f in added} == {"moves", "changed"}


def test_a_finding_is_accepted_in_the_file_that_it_is_about(tmp_path: Path) -> None:
    bare = {"signal": "throttle position", "unit": "%", "above": 55.0}
    files = [
        written(tmp_path / "old" / "d.toml", revision("C", amount(-4.0, WET))),
        written(tmp_path / "new" / "d.toml", revision("D", amount(-4.0, bare), notes="c0")),
    ]
    before = files[0].read_text(encoding="utf-8")
    number = next(n for n, f in enumerate(audit_files(files).open, 1) if f.check == "flicker")
    names = [str(file) for file in files]
    run(["audit", *names, "--accept", str(number), "--reason", "it is slow"])
    assert files[0].read_text(encoding="utf-8") == before
    (accepted,) = open_calibration(files[1]).audit.accepted
    assert accepted.check == "flicker"


def test_of_two_sheets_with_one_revision_name_each_sentence_names_the_file() -> None:
    result = audited(revision("C", amount(-4.0)), revision("C", amount(-2.0)))
    said = " ".join(as_text(result, everything=True).split())
    assert "0-rev-c.toml and 1-rev-c.toml are both called revision C, but do not hold" in said
    assert "Revision C (1-rev-c.toml) can deliver up to 2.0° more than C (0-rev-c.toml)" in said


def test_a_copy_under_the_same_name_is_only_noted() -> None:
    twice = [revision("C", amount(-4.0, WET)), revision("C", amount(-4.0, WET, enabled=True))]
    (told,) = found("one-name", *twice)
    assert told.severity == "note"
    assert told.says.endswith("both called revision C, and hold the same.")


# ---- maps on other points


@pytest.mark.parametrize("by", [0.0, 2.0])
def test_a_map_with_a_point_more_is_compared_at_its_own_points(by: float) -> None:
    """The new column lies halfway between its neighbours, or so far above."""
    at = [*SPEEDS[:3], 3750.0, *SPEEDS[3:]]
    rows = [[*row[:3], (row[2] + row[3]) / 2 + by, *row[3:]] for row in CELLS]
    sheets = [revision("A"), revision("B", map=map_of(rows, across={"at": at}))]
    told = found("raised", *sheets)
    assert len(told) == (by > 0)
    assert all("up to 2.0° more than A at 3750 rpm" in f.says for f in told)
    assert any("has other axes" in f.says for f in found("changed", *sheets))
