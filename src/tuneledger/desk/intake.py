"""Files that arrive: named safely, bounded in size, unpacked, told apart by content."""

import os
import shutil
import unicodedata
from collections.abc import AsyncIterator, Collection
from pathlib import Path, PurePosixPath, PureWindowsPath

from tuneledger.bounded import how_to_raise
from tuneledger.calibrations import looks_like_sheet
from tuneledger.calibrations.asam.mapping.detect import is_mapping
from tuneledger.calibrations.asam.tell import told
from tuneledger.desk.case import Kind, Paper, files_of
from tuneledger.desk.limits import DeskLimits
from tuneledger.errors import Fault, UsageError
from tuneledger.logs.limits import bytes_text
from tuneledger.logs.packed import is_packed
from tuneledger.logs.registry import open_sources
from tuneledger.logs.source import Source, open_source
from tuneledger.wording import count

_LARGEST_SHEET = 1 << 24  # bytes that are looked through for names of parameters
_LONGEST = 120  # of a name, in characters
_FORBIDDEN = frozenset('<>:"/\\|?*')  # in a file's name, on one system or another


def safe_name(given: str) -> str:
    """A name that any disk takes and that leads nowhere else, close to the one given."""
    base = PurePosixPath(PureWindowsPath(given[-4096:]).name).name
    kept = "".join("_" if _unfit(c) else c for c in base).strip(" .")
    stem, dot, ending = kept.rpartition(".")
    if not dot or len(ending) > 10:
        stem, dot, ending = kept, "", ""
    return (stem[: _LONGEST - len(ending) - 1].rstrip(" .") + dot + ending) or "unnamed"


def _unfit(character: str) -> bool:
    hidden = unicodedata.category(character)[0] in "CZ" and character != " "
    return character in _FORBIDDEN or hidden


def free_name(name: str, taken: Collection[str]) -> str:
    """The name, or the first numbered one that is not taken; letters' case makes no difference."""
    used = {other.casefold() for other in taken}
    stem, dot, ending = name.rpartition(".")
    number, free = 1, name
    while free.casefold() in used:
        number += 1
        free = f"{stem} ({number}){dot}{ending}" if stem else f"{name} ({number})"
    return free


async def receive(body: AsyncIterator[bytes], target: Path, limits: DeskLimits) -> None:
    """Write what is sent to a file; UsageError, and no file, where it is more than may be."""
    size = 0
    try:
        with target.open("xb") as file:
            async for part in body:
                size += len(part)
                if size > limits.file:
                    raise too_large(target.name, limits)
                file.write(part)
    except BaseException:
        target.unlink(missing_ok=True)
        raise


def too_large(name: str, limits: DeskLimits) -> UsageError:
    """The error for a file larger than the desk takes."""
    return UsageError(
        Fault(
            "the file is larger than the desk takes",
            file=name,
            expected=f"at most {bytes_text(limits.file)}",
            do=f"Cut the log. {how_to_raise()}",
        )
    )


def lay_down(
    folder: Path, arrived: Path, limits: DeskLimits, taken: Collection[str]
) -> list[Paper]:
    """The papers that a file which has arrived in a case's folder stands for.

    An archive becomes the files in it. LogError or UsageError where it cannot be read, or holds
    more than a case may.
    """
    source = open_source(arrived)
    if not is_packed(source):
        return [Paper(arrived, kind_of(source))]
    sources = open_sources(arrived, limits.logs)
    if len(taken) + len(sources) > limits.files:
        raise too_many(arrived.name, limits)
    names = {name for name in taken if name != arrived.name}
    papers = []
    for member in sources:
        name = free_name(safe_name(member.name), names)
        names.add(name)
        target = files_of(folder) / f"{name}.part"
        shutil.copyfile(member.path, target)
        papers.append((target, name, kind_of(member)))
    arrived.unlink()
    return [Paper(part.replace(part.with_name(name)), kind) for part, name, kind in papers]


def kind_of(source: Source) -> Kind:
    """What a file is, by its content. What is nothing else is read as a log, or refused as one."""
    if not looks_like_sheet(source.head):
        return told(source.head) or "log"
    if source.size > _LARGEST_SHEET:
        return "sheet"
    return "mapping" if is_mapping(source.path.read_bytes()) else "sheet"


def too_many(name: str, limits: DeskLimits) -> UsageError:
    """The error for more files than a case may hold."""
    return UsageError(
        Fault(
            f"a case holds at most {count(limits.files, 'file')}",
            file=name,
            do=f"Begin another case, or leave out what does not belong to it. {how_to_raise()}",
        )
    )


def papers_of(path: Path, folder: Path, limits: DeskLimits, taken: Collection[str]) -> list[Paper]:
    """The papers of a file named by its owner: it stays where it is, an archive is unpacked.

    LogError or UsageError where it cannot be read.
    """
    place = Path(os.path.realpath(path))
    source = open_source(place)
    if not is_packed(source):
        return [Paper(place, kind_of(source), own=False)]
    copy = files_of(folder) / free_name(safe_name(path.name), taken)
    shutil.copyfile(place, copy)
    return lay_down(folder, copy, limits, taken)
