"""The change file: read strictly, all faults at once, carried out as a whole."""

from pathlib import Path
from typing import Any

import pytest

from tests.runs import charge_air, sheet
from tuneledger.calibrations.paths import get, put
from tuneledger.change.edits import Change, Edit, carry_out, read_changes, refuse_impossible
from tuneledger.errors import ChangeError

SHEET = sheet("rev-d.toml", "D", [charge_air((0.0, 0.0, -3.0, -6.0))]).calibration
HEAD = 'format = "tuneledger-changes/1"\n'


def written(tmp_path: Path, text: str) -> Path:
    file = tmp_path / "changes.toml"
    file.write_text(text, encoding="utf-8")
    return file


def refused(file: Path) -> list[str]:
    with pytest.raises(ChangeError) as problem:
        read_changes(file)
    return [f"{fault.place}: {fault.found}" for fault in problem.value.faults]


def test_a_change_is_a_place_and_what_is_to_stand_there(tmp_path: Path) -> None:
    file = written(
        tmp_path,
        HEAD + '[[change]]\nplace = "spark.correction.charge-air.values[2]"\nto = -1.5\n'
        '[[change]]\nplace = "spark.limits.highest"\nto = 30\n',
    )
    edits = read_changes(file)
    new, changes = carry_out(SHEET, edits, file="changes.toml", sheet="rev-d.toml")
    assert changes == (
        Change("spark.correction.charge-air.values[2]", -3.0, -1.5),
        Change("spark.limits.highest", 38.0, 30),
    )
    assert get(new, "spark.correction[0].values[2]") == -1.5
    assert get(new, "spark.limits.highest") == 30.0
    assert get(SHEET, "spark.limits.highest") == 38.0, "the sheet itself stays as it was"


def test_every_fault_of_the_file_is_told_at_once(tmp_path: Path) -> None:
    file = written(
        tmp_path,
        'format = "tuneledger-changes/2"\nnote = "x"\n'
        '[[change]]\nplace = "a"\n[[change]]\nto = 1\nwhy = "y"\n[[change]]\nplace = 3\nto = 1\n',
    )
    assert refused(file) == [
        'format: "tuneledger-changes/2"',
        "note: unknown key",
        "change[0].to: missing",
        "change[1].place: missing",
        "change[1].why: unknown key",
        "change[2].place: 3",
    ]


def test_of_another_kind_of_file_only_that_is_told(tmp_path: Path) -> None:
    file = written(tmp_path, 'format = "tuneledger-calibration/1"\nrevision = "D"\n')
    assert refused(file) == ['format: "tuneledger-calibration/1"']


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("", "None: the file is empty"),
        (HEAD, "change: missing"),
        (HEAD + "change = []\n", "change: no change in it"),
        (HEAD + 'change = "all"\n', 'change: "all"'),
        (HEAD + "[[change]\n", "line 2, column "),
    ],
)
def test_what_is_no_change_file_is_refused(tmp_path: Path, text: str, found: str) -> None:
    assert refused(written(tmp_path, text))[0].startswith(found)


def faults_of(*edits: Edit) -> list[str]:
    with pytest.raises(ChangeError) as problem:
        carry_out(SHEET, edits, file="c.toml", sheet="s.toml")
    return [str(fault) for fault in problem.value.faults]


def test_every_place_that_is_none_is_told_at_once() -> None:
    told = faults_of(
        Edit("spark.correction.chargeair.amount", 1.0, "change[0]"),
        Edit("spark.map.values[9][0]", 1.0, "change[1]"),
        Edit("spark.limit.highest", 1.0, "change[2]"),
    )
    assert len(told) == 3
    assert told[0].startswith("c.toml: change[0]: ")
    assert "charge-air" in told[0]
    assert "change[1]: spark.map.values[9]: the list holds 5" in told[1]
    assert "limits" in told[2]


def test_a_place_is_edited_once() -> None:
    told = faults_of(
        Edit("spark.correction.charge-air.values[1]", -1.0, "change[0]"),
        Edit("spark.correction[0].values", [0.0, 0.0, 0.0, 0.0], "change[1]"),
    )
    assert "overlaps with change[0]" in told[0]


def test_the_edited_sheet_is_checked_as_a_whole() -> None:
    told = faults_of(
        Edit("spark.correction.charge-air.axes[0].at[1]", 70.0, "change[0]"),
        Edit("spark.limits.lowest", "low", "change[1]"),
    )
    assert any("s.toml as c.toml changes it: spark.correction[0].axes[0].at[2]" in t for t in told)
    assert any("spark.limits.lowest" in text for text in told)


def test_what_only_fits_together_may_be_changed_together() -> None:
    new, _ = carry_out(
        SHEET,
        [
            Edit("spark.correction.charge-air.axes[0].at", [30.0, 50.0, 70.0]),
            Edit("spark.correction.charge-air.values", [0.0, -1.0, -2.0]),
        ],
        file="c.toml",
        sheet="s.toml",
    )
    assert new.spark.correction[0].values == (0.0, -1.0, -2.0)


@pytest.mark.parametrize(
    ("place", "to", "says"),
    [
        (
            "spark.map.values[1][2]",
            250.0,
            "c.toml: change[0]: spark.map.values[1][2]: 250.0° can hardly be meant: no engine is "
            "given less than −60° or more than +80°; expected a number from −60° to 80°. ",
        ),
        (
            "spark.correction.charge-air.values",
            [0.0, 0.0, -3.0, -80.0],
            "c.toml: change[0]: spark.correction[0].values[3]: −80.0° can hardly be meant: no "
            "correction takes or adds more than 60°; expected a number from −60° to 60°. ",
        ),
    ],
)
def test_degrees_that_no_engine_is_given_are_refused(place: str, to: Any, says: str) -> None:
    with pytest.raises(ChangeError) as problem:
        carry_out(SHEET, [Edit(place, to, "change[0]")], file="c.toml", sheet="rev-d.toml")
    (fault,) = problem.value.faults
    assert str(fault) == says + 'Write the number that is meant, or "?" where nobody knows it.'


def test_what_stood_there_before_hinders_no_other_edit() -> None:
    odd = put(SHEET, "spark.map.values[1][2]", 250.0)
    new, _ = carry_out(odd, [Edit("spark.map.values[0][0]", 9.0)], file="c", sheet="s")
    assert get(new, "spark.map.values[1][2]") == 250.0


def test_another_sheet_with_such_degrees_is_refused_as_well() -> None:
    odd = put(SHEET, "spark.map.values[1][2]", -90.0)
    with pytest.raises(ChangeError, match="can hardly be meant"):
        refuse_impossible(SHEET, odd, "rev-e.toml")
