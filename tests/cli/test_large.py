"""Every bound on a file names the option that raises it, and that option lets the file through.

The bounds are made small here, so that small files are beyond them.
"""

import zipfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tests.workbooks import xlsx
from tuneledger.bounded import RAISE, SHEET_BYTES, raised_limits
from tuneledger.cli.docs import walk
from tuneledger.cli.main import run
from tuneledger.desk.limits import DESK_USUAL, desk_limits
from tuneledger.logs.limits import Limits

DEMO = Path(__file__).parents[2] / "demo"
SHEET, OTHER = "rev-d.toml", "rev-c.toml"
LOG, AGAIN = "run.csv", "again.csv"
DESCRIBED = ("kestrel.a2l", "kestrel-d.hex")
INCLUDING = ("main.a2l", "part.a2l", "deep.a2l")
CHANGE = 'format = "tuneledger-changes/1"\n[[change]]\nplace = "spark.limits.highest"\nto = 37.0\n'
CDF, MANY = "d.cdfx", "many.cdfx"
BARE = {"sheet new", "sheet schema", "signals"}  # they read nothing of a stranger
A = "tuneledger.calibrations.asam."


@pytest.fixture
def room(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder with the demo's sheets and description, and a second of its log."""
    monkeypatch.chdir(tmp_path)
    for file in (*DEMO.glob("*.toml"), *(DEMO / "described").iterdir()):
        Path(file.name).write_bytes(file.read_bytes())
    rows = (DEMO / "climb.csv").read_text(encoding="utf-8").splitlines(keepends=True)
    Path(LOG).write_text("".join(rows[:60]), encoding="utf-8")
    Path(AGAIN).write_text("".join([rows[0], *rows[200:260]]), encoding="utf-8")
    Path("change.toml").write_text(CHANGE, encoding="utf-8")
    return tmp_path


def test_every_command_that_reads_files_can_be_told_to_take_large_ones() -> None:
    for path, command in walk():
        name = " ".join(path[1:])
        if not hasattr(command, "commands") and name and name not in BARE and name != "sheet":
            assert any("--large" in one.opts for one in command.params), name


def refused_then_taken(told: Callable[[], str], *call: str) -> None:
    """Without the option: refused, and it is named. With it: not refused, and not named again."""
    assert run(call) == 2
    assert RAISE in (said := told()), said
    status = run([*call, "--large"])
    assert "--large" not in (said := told()), said
    assert status != 2, said


@pytest.fixture
def told(capsys: pytest.CaptureFixture[str]) -> Callable[[], str]:
    def both() -> str:
        printed = capsys.readouterr()
        return printed.out + printed.err

    return both


@pytest.mark.parametrize(
    "call",
    [
        ("sheet", "check", SHEET),
        ("sheet", "table", SHEET, "spark.map", "--from", "block.txt", "--out", "new.toml"),
        ("sheet", "to", SHEET, "out.cdfx"),
        ("audit", SHEET),
        ("reconcile", LOG, SHEET, "--no-memory"),
        ("rehearse", LOG, SHEET, "--to", OTHER, "--no-memory"),
        ("order", LOG, SHEET, "--change", "change.toml", "--no-memory"),
        ("prove", "--before", LOG, "--after", AGAIN, SHEET, "--no-memory"),
    ],
    ids=lambda call: " ".join(call[:2]),
)
def test_a_sheet_of_many_corrections_is_taken_by_every_command_that_is_told_so(
    room: Path,
    told: Callable[[], str],
    monkeypatch: pytest.MonkeyPatch,
    call: tuple[str, ...],
) -> None:
    Path("block.txt").write_text("\t1000\t2000\n50\t10\t11\n100\t8\t9\n")
    monkeypatch.setattr("tuneledger.calibrations.check.MOST_CORRECTIONS", 1)
    refused_then_taken(told, *call)


@pytest.mark.parametrize(
    ("where", "bound", "call"),
    [
        (A + "a2l.blocks.WORDS", 100, DESCRIBED),
        (A + "a2l.blocks.BLOCKS", 15, DESCRIBED),
        (A + "a2l.blocks.NESTED", 1, DESCRIBED),
        (A + "a2l.blocks.INCLUDES", 1, INCLUDING),
        (A + "a2l.blocks.INCLUDED", 1, INCLUDING),
        (A + "a2l.blocks.DESCRIPTION_BYTES", 3000, INCLUDING),
        (A + "files._MOST", {"description": 1000, "image": 1000}, DESCRIBED),
        (A + "files._MOST", {"description": 9000, "image": 90}, DESCRIBED),
        (A + "images.RECORDS", 5, DESCRIBED),
        (A + "images.RUNS", 2, DESCRIBED),
        (A + "images.PIECES", 2, DESCRIBED),
        (A + "files._MOST", {"instances": 3000}, (CDF,)),
        (A + "cdf.read.NAME", 10, (CDF,)),
        (A + "cdf.read.NAMES", 400, (CDF,)),
        (A + "cdf.xml.NESTED", 3, (CDF,)),
        (A + "cdf.xml.ELEMENTS", 100, (CDF,)),
    ],
)
def test_bounds_on_calibrations_of_open_standards_are_raised(
    room: Path,
    told: Callable[[], str],
    monkeypatch: pytest.MonkeyPatch,
    where: str,
    bound: Any,
    call: tuple[str, ...],
) -> None:
    assert run(["sheet", "to", SHEET, CDF]) == 0
    whole = Path("kestrel.a2l").read_text(encoding="utf-8")
    Path("part.a2l").write_text('/include "deep.a2l"\n', encoding="utf-8")
    Path("deep.a2l").write_text("/* nothing */\n", encoding="utf-8")
    including = whole.replace("/begin MODULE", '/include "part.a2l" ' * 2 + "/begin MODULE", 1)
    Path("main.a2l").write_text(including, encoding="utf-8")
    told()
    monkeypatch.setattr(where, bound)
    refused_then_taken(told, "sheet", "contents", *call)


@pytest.mark.parametrize("where", ["cdf.numbers", "a2l.records"])
def test_a_parameter_beyond_the_bound_says_what_raises_it(
    room: Path, told: Callable[[], str], monkeypatch: pytest.MonkeyPatch, where: str
) -> None:
    run(["sheet", "to", SHEET, CDF])
    call = ["sheet", "contents", *((CDF,) if "cdf" in where else DESCRIBED)]
    monkeypatch.setattr(f"{A}{where}.CELLS", 30)
    told()
    assert run(call) == 0
    said = told()
    assert "more than 30" in said
    assert "(--large raises that)" in said
    assert run([*call, "--large"]) == 0
    assert "--large" not in told()


def test_long_sheets_changes_and_roles_are_taken(room: Path, told: Callable[[], str]) -> None:
    long = "#" + "-" * SHEET_BYTES + "\n"
    for name in (SHEET, "change.toml"):
        Path(f"long-{name}").write_text(long + Path(name).read_text(encoding="utf-8"))
    Path("roles.toml").write_text(long + 'format = "tuneledger-roles/1"\n')
    refused_then_taken(told, "sheet", "check", f"long-{SHEET}")
    call = ("rehearse", LOG, SHEET, "--change", "long-change.toml", "--no-memory")
    refused_then_taken(told, *call)
    refused_then_taken(told, "look", LOG, "--roles", "roles.toml", "--no-memory")


def test_deep_conditions_are_taken(room: Path, told: Callable[[], str]) -> None:
    condition = '{ channel = "Wet switch", is = "on" }'
    for _ in range(40):
        condition = f"{{ any = [{condition}] }}"
    rule = f'[[spark.correction]]\nid = "deep"\namount = -1.0\nwhen = [{condition}]\n'
    Path("deep.toml").write_text(f"{Path(SHEET).read_text(encoding='utf-8')}\n{rule}", "utf-8")
    refused_then_taken(told, "sheet", "check", "deep.toml")


@pytest.mark.parametrize(
    ("limits", "file"),
    [
        (Limits(columns=10), LOG),
        (Limits(members=1), "mail.zip"),
        (Limits(unpacked=1 << 12), "mail.zip"),
        (Limits(workbook=1 << 13), "book.xlsx"),
        (Limits(cells=200), "book.xlsx"),
    ],
    ids=str,
)
def test_bounds_on_logs_are_raised(
    room: Path,
    told: Callable[[], str],
    monkeypatch: pytest.MonkeyPatch,
    limits: Limits,
    file: str,
) -> None:
    with zipfile.ZipFile("mail.zip", "w") as mail:
        mail.write(LOG)
        mail.write(SHEET)
    xlsx(Path("book.xlsx"), {"Run": [["Time [s]", "Revs"], *([n / 10, 900] for n in range(150))]})
    monkeypatch.setattr("tuneledger.logs.limits.USUAL", limits)
    refused_then_taken(told, "reconcile", file, "--no-memory")


def test_bounds_on_blocks_and_readings_are_raised(
    room: Path, told: Callable[[], str], monkeypatch: pytest.MonkeyPatch
) -> None:
    xlsx(Path("map.xlsx"), {"Map": [["", 1000, 2000], [50, 10, 11], [100, 8, 9]]})
    call = ("sheet", "table", SHEET, "spark.map", "--from", "map.xlsx", "--out", "new.toml")
    for name, bound in (("_CELLS", 5), ("_UNPACKED", 1 << 12)):
        with monkeypatch.context() as small:
            small.setattr(f"tuneledger.calibrations.block.workbook.{name}", bound)
            refused_then_taken(told, *call, "--force")
    rows = "".join(f"{1000 * n},10,{10 - n / 10}\n" for n in range(1, 7))
    Path("light.csv").write_text(f"rpm,commanded [deg],observed [deg]\n{rows}")
    monkeypatch.setattr("tuneledger.logs.delimited.table._MOST_BYTES", 50)
    refused_then_taken(told, "light", "light.csv")


def test_a_desk_that_is_told_so_takes_ten_times_as_much() -> None:
    with raised_limits():
        raised = desk_limits()
    assert desk_limits() is DESK_USUAL
    usual = (DESK_USUAL.file, DESK_USUAL.files, DESK_USUAL.cases, DESK_USUAL.logs.members)
    assert (raised.file, raised.files, raised.cases, raised.logs.members) == tuple(
        10 * one for one in usual
    )
