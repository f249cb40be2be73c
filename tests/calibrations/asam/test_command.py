"""`tuneledger sheet contents` and `sheet from`, as a newcomer meets them."""

import zipfile
from collections.abc import Callable
from pathlib import Path
from types import SimpleNamespace

import pytest

from tests.calibrations.asam import kestrel
from tests.calibrations.asam.making import intel
from tests.logs.writing import Dress, steady_run, text
from tuneledger.calibrations import open_calibration
from tuneledger.cli.sheet import command
from tuneledger.errors import TuneledgerError

Run = Callable[..., SimpleNamespace]


@pytest.fixture
def sheet(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> Run:
    monkeypatch.chdir(tmp_path)
    kestrel.write(tmp_path)

    def run(*arguments: str) -> SimpleNamespace:
        try:
            status = command.main(list(arguments), prog_name="sheet", standalone_mode=False)
        except TuneledgerError as error:
            text = str(error)
            return SimpleNamespace(out=capsys.readouterr().out, err=text, status=error.exit_status)
        said = capsys.readouterr()
        return SimpleNamespace(out=said.out, err=said.err, status=status or 0)

    return run


THREE = ("kestrel.a2l", "kestrel-d.hex", "mapping.toml")


def test_the_contents_name_every_parameter_with_kind_size_and_unit(sheet: Run) -> None:
    told = sheet("contents", "kestrel.a2l")
    assert told.status == 0
    rows = [line.split() for line in told.out.splitlines()]
    assert ["ADV_BASE", "map", "12", "×", "10", "°", "BTDC", "Base", "spark", "advance"] in rows
    refused = 'NOT REPRESENTED: its conversion is a formula that is not carried out, "X1^2"'
    assert refused in told.out
    assert told.out.endswith("17 parameters; 1 cannot become part of a sheet.\n")


def test_the_contents_can_be_searched(sheet: Run) -> None:
    told = sheet("contents", "kestrel.a2l", "--find", "retard by")
    names = [line.split()[0] for line in told.out.splitlines()[:-1]]
    assert names == ["AIR_RETARD", "WATER_RETARD"]
    assert told.out.splitlines()[-1].startswith("2 of 17 parameters")


def test_with_an_image_the_contents_say_what_it_lacks(sheet: Run) -> None:
    part = {at: data for at, data in kestrel.memory().items() if at != 0x800C0}
    Path("part.hex").write_text(intel(part))
    told = sheet("contents", "kestrel.a2l", "part.hex", "--find", "AIR_RETARD")
    assert "NOT REPRESENTED: 5 bytes at 0x000800C0 are not in the image" in told.out


@pytest.mark.parametrize("order", [THREE, THREE[::-1]])
def test_a_sheet_is_made_of_the_files_in_any_order(sheet: Run, order: tuple[str, ...]) -> None:
    told = sheet("from", *order, "--out", "rev-d.toml")
    assert told.status == 0
    assert told.out.startswith("Wrote rev-d.toml: 15 places filled")
    assert '"bus.aml": not given, and never opened by itself' in told.err
    assert open_calibration("rev-d.toml").revision == "D"
    again = sheet("from", *order, "--out", "rev-d.toml")
    assert again.status == 2
    assert "nothing was written" in again.err


def test_without_a_name_the_sheet_is_printed(sheet: Run) -> None:
    told = sheet("from", *THREE)
    Path("printed.toml").write_text(told.out, encoding="utf-8")
    assert open_calibration("printed.toml").spark.limits is not None


def test_an_image_of_another_version_is_not_read_unless_asked_to(sheet: Run) -> None:
    Path("other.hex").write_text(intel(kestrel.memory(mark="KESTREL-E-0611")))
    told = sheet("from", "kestrel.a2l", "other.hex", "mapping.toml", "--out", "rev.toml")
    assert told.status == 2
    assert 'the image is marked "KESTREL-E-0611" at 0x00080000' in told.err
    assert not Path("rev.toml").exists()
    wrong = sheet("from", "kestrel.a2l", "other.hex", "mapping.toml", "--mismatched")
    says = 'other.hex: the image is marked "KESTREL-E-0611" at 0x00080000, not '
    assert wrong.status == 0
    assert says in wrong.err
    assert f"# Noted: {says}" in wrong.out


def test_an_image_that_lies_elsewhere_is_read_with_a_shift(sheet: Run) -> None:
    moved = {at - 0x80000: data for at, data in kestrel.memory().items()}
    Path("moved.hex").write_text(intel(moved))
    told = sheet("from", "kestrel.a2l", "moved.hex", "mapping.toml")
    assert "1 byte at 0x000800A0 is not in the image" in told.err
    assert told.err.splitlines()[-1].startswith("moved.hex holds 0x00000000 to 0x0000000D, ")
    assert told.err.endswith("say by how much (--shift).")
    assert sheet("from", "kestrel.a2l", "moved.hex", "mapping.toml", "--shift=-0x80000").status == 0


@pytest.mark.parametrize(
    ("files", "says"),
    [
        (("kestrel.a2l", "kestrel-d.hex"), "no mapping is among the files"),
        (("kestrel-d.hex", "mapping.toml"), "no description is among the files"),
        (("kestrel-d.hex", "mapping.toml"), "kestrel-d.hex holds bytes alone"),
        (
            ("kestrel.a2l", "mapping.toml"),
            "kestrel.a2l says where the numbers stand, and holds none",
        ),
        (("none.a2l",), "none.a2l: there is no such file"),
        (("mapping.toml", "out.toml"), "out.toml: there is no such file. To write a sheet there"),
        (
            ("words.txt",),
            "words.txt: this is nothing that is known here; expected an ASAM",
        ),
        (("kestrel.a2l", "again.a2l", "mapping.toml"), "several hold a PROJECT"),
    ],
)
def test_what_is_missing_or_too_much_is_said(sheet: Run, files: tuple[str, ...], says: str) -> None:
    Path("words.txt").write_text("Dear driver, the car is fine.")
    Path("again.a2l").write_text(kestrel.DESCRIPTION, encoding="utf-8")
    told = sheet("from", *files)
    assert told.status == 2
    assert says in told.err


def test_whoever_hands_such_files_to_another_command_is_told_what_to_do(sheet: Run) -> None:
    from tuneledger.errors import UsageError
    from tuneledger.supplied import open_supplied

    for name in ("kestrel.a2l", "kestrel-d.hex"):
        with pytest.raises(UsageError, match="`tuneledger sheet from` makes the sheet"):
            open_supplied([Path(name)])
    assert "Make a sheet of it first" in sheet("check", "kestrel.a2l").out


def test_such_files_in_an_archive_are_left_out_and_named(sheet: Run) -> None:
    from tuneledger.supplied import open_supplied

    with zipfile.ZipFile("mail.zip", "w") as archive:
        archive.write("kestrel.a2l")
        archive.writestr("run.csv", text(steady_run(), Dress()))
    notes = open_supplied([Path("mail.zip")], memory=False).notes
    said = "it is an ASAM MCD-2 MC description (A2L); make a sheet of it first"
    assert f"kestrel.a2l: left out, {said}" in notes


PAGE = (Path(__file__).parents[3] / "docs" / "calibrations.md").read_text(encoding="utf-8")


def test_the_page_shows_what_the_command_prints(sheet: Run) -> None:
    shown = PAGE.partition("$ tuneledger sheet contents demo/described/kestrel.a2l --find retard\n")
    told = sheet("contents", "kestrel.a2l", "--find", "retard")
    assert shown[2].partition("```")[0] == told.out


def test_the_mapping_of_the_page_makes_a_sheet(sheet: Run) -> None:
    Path("part.toml").write_text(PAGE.partition("```toml\n")[2].partition("```")[0], "utf-8")
    assert sheet("from", "kestrel.a2l", "kestrel-d.hex", "part.toml", "-o", "s.toml").status == 0
    assert [c.id for c in open_calibration("s.toml").spark.correction] == ["charge-air", "launch"]


@pytest.mark.parametrize("module", ["asam.images", "asam.cdf.xml"])
def test_without_its_library_the_message_says_what_to_install(
    sheet: Run, monkeypatch: pytest.MonkeyPatch, module: str
) -> None:
    monkeypatch.setattr(f"tuneledger.calibrations.{module}.find_spec", lambda _: None)
    Path("d.cdfx").write_text("<MSRSW><SW-INSTANCE/></MSRSW>")
    files = ("d.cdfx",) if "cdf" in module else ("kestrel.a2l", "kestrel-d.hex")
    told = sheet("contents", *files)
    assert told.status == 2
    assert "Install the extra 'calibration' (pip install bincopy defusedxml)" in told.err


@pytest.mark.parametrize("inside", ["// nothing to see here\n", "BYTE_ORDER MSB_FIRST\n", ""])
def test_an_included_file_may_hold_anything(sheet: Run, inside: str) -> None:
    whole = Path("kestrel.a2l").read_text()
    Path("common.txt").write_text(inside)
    told = sheet("contents", "kestrel.a2l", "common.txt")
    assert told.status == 2
    assert "nothing that is known here" in told.err or "empty" in told.err
    Path("kestrel.a2l").write_text(f'{whole}\n/include "parts\\Common.txt"\n')
    assert sheet("contents", "kestrel.a2l", "common.txt").status == 0


def test_an_axis_that_its_signal_cannot_have_is_told_as_the_audit_tells_it(sheet: Run) -> None:
    assert sheet("from", *THREE, "-o", "right.toml").status == 0
    whole = Path("kestrel.a2l").read_text()
    Path("kestrel.a2l").write_text(whole.replace('"%6.1" "hPa"', '"%6.1" "kPa"'))
    told = sheet("from", *THREE, "-o", "wrong.toml")
    assert told.status == 1
    assert "manifold absolute pressure from 250 to 2400 is marked kPa, but reads like" in told.err
    assert open_calibration("wrong.toml").spark.map.axes[0].at[0] == 250.0


@pytest.mark.parametrize("place", ["spark.map", "spark.correction.charge-air"])
def test_a_block_whose_axis_cannot_be_is_told_where_it_is_put(sheet: Run, place: str) -> None:
    assert sheet("from", *THREE, "-o", "a.toml").status == 0
    block = {
        "spark.map": "\t0.9\t2.5\t7\n40\t17\t31\t37\n120\t12\t21\t30\n",
        "spark.correction.charge-air": "70\t100\t140\t212\n0\t0\t-2\t-5\n",
    }[place]
    Path("block.txt").write_text(block)
    told = sheet("table", "a.toml", place, "--from", "block.txt", "--force")
    assert told.status == 1
    assert "but reads like" in told.err
    right = block.replace("0.9\t2.5\t7", "900\t2500\t7000").replace(
        "70\t100\t140\t212", "20\t40\t60\t90"
    )
    Path("block.txt").write_text(right)
    assert sheet("table", "a.toml", place, "--from", "block.txt", "--force").status == 0
