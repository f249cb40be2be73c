"""Outputs appear whole or not at all, and all of one call together.

Every output is first written beside its place, under a name of its own, and brought to the disk.
Only when all of them are complete do they take their places. Whatever fails before, or while they
do, leaves the folders as they were. A draft whose process was killed is cleared by the next call
that writes to the same place.
"""

import contextlib
import errno
import os
import re
import stat
from collections.abc import Callable, Iterable, Iterator, Sequence
from pathlib import Path
from typing import BinaryIO

from tuneledger.errors import OutputError
from tuneledger.owned import clear_left_behind, hold, let_go
from tuneledger.record import record
from tuneledger.statement.places import check_places, is_stream, real_place, refused

_LONGEST = 80  # characters of a name that its draft's holds
_TRIES = 100


@record
class Output:
    """One file to be written: where, and by what. `write` gets an open file and fills it."""

    path: Path
    write: Callable[[BinaryIO], object]


def text_output(path: Path, text: str) -> Output:
    """An output that holds this text, as UTF-8; lone halves of a character stay escaped."""
    return Output(path, lambda file: file.write(text.encode("utf-8", "backslashreplace")))


def write_all(outputs: Sequence[Output], inputs: Iterable[Path] = ()) -> None:
    """Write every output, or none of them.

    Raises OutputError with the file and what to do; a target that existed then holds what it held.
    """
    check_places([output.path for output in outputs], inputs)
    with contextlib.ExitStack() as cleared:
        ready = [_prepare(output, cleared) for output in outputs if not is_stream(output.path)]
        for output in outputs:  # what is read at once cannot be taken back, so it goes first
            if is_stream(output.path):
                with _told(output.path), output.path.open("wb") as file:
                    output.write(file)
        _put(ready, cleared)


def _prepare(output: Output, cleared: contextlib.ExitStack) -> tuple[Path, Path]:
    """The output complete on the disk, under a name of its own, and the place it is for."""
    place = real_place(output.path)
    with _told(output.path):
        clear_left_behind(place.parent, _drafts_of(place))
        draft, opened = _begun(place, cleared)
        with opened as file:
            output.write(file)
            file.flush()
            os.fsync(file.fileno())
        if place.exists():
            draft.chmod(stat.S_IMODE(place.stat().st_mode))
    return draft, place


def _begun(place: Path, cleared: contextlib.ExitStack) -> tuple[Path, BinaryIO]:
    """A draft of ours for a place, open and held until all is done."""
    for _ in range(_TRIES):
        draft = _beside(place, "part")
        # Mode "x" fails where the name exists, and obeys the user's mask.
        opened = draft.open("xb")
        cleared.callback(_forget, draft)
        handle = hold(draft)
        if handle is not None:
            cleared.callback(let_go, handle)
            return draft, opened
        opened.close()  # somebody took it for left behind in the instant before it was held
    raise OSError(errno.EBUSY, "others remove it again and again")


def _put(ready: Sequence[tuple[Path, Path]], cleared: contextlib.ExitStack) -> None:
    """Every draft in its place; where one cannot go there, those before it are taken back."""
    with contextlib.ExitStack() as undo:
        for draft, place in ready:
            with _told(place):
                kept = _keep(place, cleared)
                draft.replace(place)
                undo.callback(_take_back, place, kept)
        undo.pop_all()
    for folder in {place.parent for _, place in ready}:
        _sync_folder(folder)


def _keep(place: Path, cleared: contextlib.ExitStack) -> Path | None:
    """A second name for what stands in the place, until all is done. None where nothing does."""
    if not place.exists():
        return None
    kept = _beside(place, "kept")
    try:
        kept.hardlink_to(place)
    except OSError:
        return None  # a file system without links: what was there cannot be brought back
    cleared.callback(_forget, kept)
    cleared.callback(let_go, hold(kept, shared=True))
    return kept


def _take_back(place: Path, kept: Path | None) -> None:
    with contextlib.suppress(OSError):
        if kept is None:
            place.unlink()
        else:
            kept.replace(place)


def _beside(place: Path, why: str) -> Path:
    import secrets  # most calls write nothing, and it brings much along

    return place.with_name(f".{place.name[:_LONGEST]}.{secrets.token_hex(4)}.{why}")


def _drafts_of(place: Path) -> re.Pattern[str]:
    return re.compile(rf"\.{re.escape(place.name[:_LONGEST])}\.[0-9a-f]{{8}}\.(part|kept)")


def _forget(path: Path) -> None:
    with contextlib.suppress(OSError):
        path.unlink()


def _sync_folder(folder: Path) -> None:
    # So that a power cut does not undo the renaming; some file systems refuse, which is no loss.
    with contextlib.suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


@contextlib.contextmanager
def _told(path: Path) -> Iterator[None]:
    """Failures of the operating system as errors that say what to do."""
    try:
        yield
    except BrokenPipeError:
        raise  # whoever read has stopped; that is no fault of the output
    except OSError as problem:
        raise OutputError(refused(path, problem.errno, problem.strerror)) from problem
