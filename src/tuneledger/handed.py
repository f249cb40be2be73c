"""The files that were handed over, told apart by content before any of them is read."""

import os
from collections.abc import Sequence
from filecmp import cmp
from pathlib import Path

from tuneledger.calibrations import looks_like_sheet
from tuneledger.calibrations.asam.tell import FIRST, SAYS, told
from tuneledger.errors import Fault, UsageError
from tuneledger.logs.source import Source, open_source


def refuse_twice(paths: Sequence[Path]) -> None:
    """UsageError where two paths lead to one file."""
    seen: dict[Path, Path] = {}
    for path in paths:
        real = Path(os.path.realpath(path))
        if real in seen:
            raise UsageError(
                Fault(
                    "the file is given twice",
                    file=str(path),
                    do=f"Name it once (it is the same file as {seen[real]}).",
                )
            )
        seen[real] = path


def is_sheet(path: Path) -> bool:
    """Whether a file is a sheet, by its content; a `TuneledgerError` if it cannot be read."""
    return looks_like_sheet(open_source(path).head)


def no_log(source: Source) -> Fault | None:
    """What to say of a file that is no log but a calibration in a standard's form; else None."""
    kind = None if looks_like_sheet(source.head) else told(source.head)
    if kind is None:
        return None
    return Fault(f"this is {SAYS[kind]}", file=source.name, expected="a log", do=FIRST)


def not_yet_sheets(sources: Sequence[Source]) -> tuple[list[Source], tuple[str, ...]]:
    """All but calibrations that a sheet has to be made of first; those in an archive are named.

    UsageError where one was handed over by itself.
    """
    kept: list[Source] = []
    aside = []
    for source in sources:
        kind = None if looks_like_sheet(source.head) else told(source.head)
        if kind is None:
            kept.append(source)
        elif source.folder is not None:
            aside.append(f"{source.name}: left out, it is {SAYS[kind]}; make a sheet of it first")
        else:
            fault = Fault(
                f"this is {SAYS[kind]}",
                file=str(source.path),
                expected="logs and calibration sheets",
                do=FIRST,
            )
            raise UsageError(fault)
    return kept, tuple(aside)


def each_once(logs: Sequence[Source]) -> tuple[list[Source], tuple[str, ...]]:
    """Each log once, whatever it is called and wherever it lies packed; notes on what is left out.

    The same drive told twice would count twice.
    """
    kept: list[Source] = []
    notes = []
    for log in logs:
        same = next((other for other in kept if _same_content(log, other)), None)
        if same is None:
            kept.append(log)
        else:
            notes.append(f"{log.name}: left out, it is the same log as {same.name}")
    return kept, tuple(notes)


def _same_content(one: Source, other: Source) -> bool:
    alike = (one.size, one.head, one.tail) == (other.size, other.head, other.tail)
    return alike and cmp(one.path, other.path, shallow=False)
