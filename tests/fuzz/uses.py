"""What is done with a file of each format: read to its last number, as the commands do."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

from tests.fuzz import calibrated
from tests.fuzz.requests import answer
from tests.fuzz.samples import DEMO
from tuneledger.calibrations import looks_like_sheet, open_calibration
from tuneledger.calibrations.asam.files import Wishes, open_store, sort_files
from tuneledger.calibrations.asam.mapping.choose import choose
from tuneledger.calibrations.block.source import block_text
from tuneledger.calibrations.fill import Pasted, filling
from tuneledger.calibrations.starting_point import starting_point
from tuneledger.calibrations.text import parse, read_text
from tuneledger.calibrations.write import to_toml
from tuneledger.change.edits import carry_out, read_changes
from tuneledger.light.readings import open_readings
from tuneledger.logs.registry import open_sources, read_log
from tuneledger.roles import identify, read_roles_file


def log(file: Path) -> None:
    """Every file that is packed in it, as a log with its roles or as a sheet."""
    for source in open_sources(file):
        if looks_like_sheet(source.head):
            open_calibration(source.path, name=source.name)
            continue
        found = read_log(source)
        identify(found)
        for channel in found.channels:
            found.times(channel)
            found.values(channel)


def sheet(file: Path) -> None:
    to_toml(open_calibration(file))


def calibration(file: Path, *beside: str) -> None:
    """A file with the others of Kestrel's example beside it; a sheet where that is possible."""
    for name in beside:
        (file.parent / name).write_text(calibrated.files()[name], encoding="utf-8")
    given = sort_files([file, *(file.parent / name for name in beside)])
    store = open_store(given, Wishes(mismatched=True))
    list(store.entries())
    if given.sheets:
        choose(parse(read_text(given.sheets[0])), store, "mapping").text("files")


def block(file: Path) -> None:
    text = block_text(file.read_bytes(), "block").text
    prepared = filling(starting_point(), "sheet", "spark.map", Pasted(text, "block"))
    for way in prepared.ways:
        prepared.calibration(way)


def changes(file: Path) -> None:
    sheet_d = open_calibration(DEMO / "rev-d.toml")
    carry_out(sheet_d, read_changes(file), file="changes", sheet="rev-d.toml")


def _beside(*names: str) -> Callable[[Path], Any]:
    return lambda file: calibration(file, *names)


USES: dict[str, Callable[[Path], Any]] = {
    **dict.fromkeys(("delimited text", "Parquet", "Arrow IPC", "workbook", "gzip and zip"), log),
    **dict.fromkeys(("MDF 4", "MDF 3", "MDF unfinished", "MDF of frames"), log),
    "sheet": sheet,
    "mapping": _beside("kestrel.a2l", "kestrel-d.hex"),
    "description": _beside("kestrel-d.hex", "mapping.toml"),
    "Intel HEX": _beside("kestrel.a2l", "mapping.toml"),
    "S-record": _beside("kestrel.a2l", "mapping.toml"),
    "calibration data": calibration,
    "pasted block": block,
    "roles": read_roles_file,
    "changes": changes,
    "light readings": open_readings,
    "desk request": answer,
}
