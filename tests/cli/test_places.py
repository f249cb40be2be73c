"""Every command that writes a file, given places where none can be: told, and nothing lost."""

import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from tuneledger.cli.main import run

DEMO = Path(__file__).parents[2] / "demo"
LOG, C, D = (str(DEMO / name) for name in ("climb.csv", "rev-c.toml", "rev-d.toml"))
DESCRIBED = [
    str(DEMO / "described" / name) for name in ("kestrel.a2l", "kestrel-d.hex", "mapping.toml")
]
CHANGES = """\
format = "tuneledger-changes/1"
[[change]]
place = "spark.correction.charge-air.values[3]"
to = -3.0
"""
READINGS = "rpm,commanded,observed\n800,10,11.0\n2500,10,10.0\n4000,10,9.1\n5500,10,8.2\n"
BLOCK = "kPa\t900\t2500\n40\t17\t31\n120\t12\t21\n"

# `@` and what follows is the output; what is in capitals is written beside it first.
WRITE = {
    "statement": ["reconcile", LOG, D, "--json", "@"],
    "ledger": ["reconcile", LOG, D, "--ledger", "@.csv"],
    "ledger as MDF": ["reconcile", LOG, D, "--ledger", "@.mf4"],
    "page": ["reconcile", LOG, D, "--page", "@"],
    "figure": ["reconcile", LOG, D, "--figure", "@.svg"],
    "reply": ["reconcile", LOG, D, "--reply", "@"],
    "draft": ["reconcile", LOG, "--draft-sheet", "@"],
    "roles": ["reconcile", LOG, "--save-roles", "@"],
    "look": ["look", LOG, "--json", "@"],
    "rehearsal": ["rehearse", LOG, C, "--change", "CHANGES", "--json", "@"],
    "rehearsed ledger": ["rehearse", LOG, C, "--change", "CHANGES", "--ledger", "@.parquet"],
    "findings": ["audit", D, "--page", "@"],
    "order": ["order", LOG, C, "--change", "CHANGES", "--revision", "E", "--page", "@"],
    "edited sheet": ["order", LOG, C, "--change", "CHANGES", "--revision", "E", "--sheet", "@"],
    "proof": ["prove", "--before", LOG, "--after", "AFTER", C, "--json", "@"],
    "light": ["light", "READINGS", "--json", "@"],
    "delimited text": ["convert", LOG, "@.csv"],
    "Parquet": ["convert", LOG, "@.parquet"],
    "Arrow": ["convert", LOG, "@.arrow"],
    "MDF": ["convert", LOG, "@.mf4"],
    "new sheet": ["sheet", "new", "@"],
    "sheet out of a description": ["sheet", "from", *DESCRIBED, "--out", "@"],
    "calibration data": ["sheet", "to", D, "@.cdfx"],
    "table": ["sheet", "table", D, "spark.map", "--from", "BLOCK", "--out", "@"],
    "signals": ["signals", "--json", "@"],
}


def in_a_circle(place: Path) -> Path:
    place.symlink_to(place)
    return place


def a_folder(place: Path) -> Path:
    place.mkdir()
    return place


def behind_a_file(place: Path) -> Path:
    place.write_text("a file where a folder is meant")
    return place / place.name


BAD: dict[str, Callable[[Path], Path]] = {
    "the link leads in a circle": in_a_circle,
    "this is a folder": a_folder,
    "the name cannot be used": lambda place: place.with_name("n" * 300 + place.suffix),
    "does not exist; nothing was written": lambda place: place.parent / "none" / place.name,
    "/out' does not exist": lambda place: behind_a_file(place.with_suffix("")),
}


def told(what: str, place: Callable[[Path], Path], folder: Path) -> int:
    """The exit status of a command whose output goes to a place in a folder."""
    beside = {"CHANGES": CHANGES, "READINGS": READINGS, "BLOCK": BLOCK}
    beside["AFTER"] = Path(LOG).read_text(encoding="utf-8") if "AFTER" in WRITE[what] else ""
    arguments = []
    for word in WRITE[what]:
        if word.startswith("@"):
            arguments.append(str(place(folder / f"out{word[1:]}")))
        elif word in beside:
            (folder.parent / word).write_text(beside[word], encoding="utf-8")
            arguments.append(str(folder.parent / word))
        else:
            arguments.append(word)
    return run(arguments)


@pytest.mark.skipif(sys.platform == "win32", reason="links and names are others there")
@pytest.mark.parametrize("says", BAD)
@pytest.mark.parametrize("what", WRITE)
def test_a_place_where_no_file_can_be_is_told_and_nothing_is_written(
    what: str, says: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = tmp_path / "folder"
    folder.mkdir()
    status = told(what, BAD[says], folder)
    said = capsys.readouterr()
    assert status == 2, said.err
    assert says in said.err
    assert "nothing was written" in said.err
    assert said.out == ""
    assert [path for path in folder.rglob("*") if path.name.startswith(".")] == []


@pytest.mark.parametrize("what", ["new sheet", "sheet out of a description", "calibration data"])
def test_a_name_with_codes_is_shown_without_them(
    what: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = tmp_path / "folder"
    folder.mkdir()
    assert told(what, lambda place: place.with_name(f"a\x1b]0;b\u202e{place.name}"), folder) == 0
    said = capsys.readouterr()
    assert r"a\x1b]0;b\u202eout" in said.out
    assert "\x1b" not in said.out + said.err


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="no such device here")
@pytest.mark.parametrize(
    "what", ["new sheet", "signals", "light", "Parquet", "Arrow", "MDF", "calibration data"]
)
def test_a_full_device_is_told(
    what: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = tmp_path / "folder"
    folder.mkdir()

    def full(place: Path) -> Path:
        place.symlink_to("/dev/full")
        return place

    assert told(what, full, folder) == 2
    assert "there is no room to write it; nothing was written" in capsys.readouterr().err
