"""Files inside files: a gzip of one log, a zip of everything that came with an e-mail.

A member is unpacked into a private folder under a name of ours. Its own name is only shown. What is
packed within a packed file stays packed, and how much may come out is bounded (`limits`).
"""

import gzip
import zipfile
import zlib
from collections.abc import Iterator
from pathlib import Path, PurePosixPath
from typing import Protocol

from tuneledger.bounded import how_to_raise
from tuneledger.errors import Fault, LogError
from tuneledger.logs.limits import MEGABYTE, Limits, bytes_text
from tuneledger.logs.packed import GZIP
from tuneledger.logs.source import Source, open_source
from tuneledger.private import PrivateFolder
from tuneledger.wording import count, visible

_PIECE = 1 << 20
# Only of these does the library unpack no more at a time than it is asked for.
_BOUNDED = (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED)
# What systems put beside the files that people put in.
_LITTER = ("__MACOSX/", ".DS_Store", "Thumbs.db", "desktop.ini")


class _Readable(Protocol):
    def read(self, size: int, /) -> bytes: ...


def unpack(source: Source, limits: Limits) -> tuple[Source, ...]:
    """All files in it, in its order. LogError where it is damaged, locked, or beyond the limits."""
    folder = PrivateFolder()
    try:
        if source.head.startswith(GZIP):
            return (_unpack_gzip(source, folder, limits),)
        return tuple(_unpack_zip(source, folder, limits))
    except (zipfile.BadZipFile, EOFError, zlib.error, ValueError, OSError) as problem:
        raise _damaged(source, str(problem)) from problem  # a place outside the file is an OSError
    except NotImplementedError as problem:
        raise LogError(
            Fault(
                f"it is packed in a way that cannot be read here ({problem})",
                file=source.name,
                do="Unpack it, or pack it as an ordinary zip.",
            )
        ) from problem


def _unpack_gzip(source: Source, folder: PrivateFolder, limits: Limits) -> Source:
    target = folder.new_file()
    with gzip.open(source.path) as packed:
        _copy(packed, target, source, source.size, limits.unpacked, limits)
    return open_source(target, source.name, folder)


def _unpack_zip(source: Source, folder: PrivateFolder, limits: Limits) -> Iterator[Source]:
    with zipfile.ZipFile(source.path) as archive:
        members = [
            m
            for m in archive.infolist()
            if m.filename
            and not m.is_dir()
            and m.file_size
            and not any(part in m.filename for part in _LITTER)
        ]
        if len(members) > limits.members:
            raise _too_much(source, f"it holds {count(len(members), 'file')}", str(limits.members))
        if not members:
            raise LogError(Fault("there is no file in it", file=source.name))
        names = _shown([member.filename for member in members])
        left = limits.unpacked
        for member, name in zip(members, names, strict=True):
            if member.flag_bits & 1:
                raise LogError(
                    Fault(
                        f"'{visible(name)}' in it is locked with a password",
                        file=source.name,
                        do="Unpack it, and hand over what is in it.",
                    )
                )
            if member.compress_type not in _BOUNDED:
                raise NotImplementedError("another compression than deflate")
            target = folder.new_file()
            with archive.open(member) as packed:
                left -= _copy(packed, target, source, member.compress_size, left, limits)
            yield open_source(target, name, folder)


def _shown(names: list[str]) -> list[str]:
    """The last part of each path, or all of it where two would be called the same."""
    last = [PurePosixPath(name.replace("\\", "/")).name or name for name in names]
    return [part if last.count(part) == 1 else name for part, name in zip(last, names, strict=True)]


def _copy(
    packed: _Readable, target: Path, source: Source, size: int, most: int, limits: Limits
) -> int:
    """Unpack one member; how many bytes it became. Stops as soon as that is too much."""
    allowed = min(most, max(MEGABYTE, size * limits.expansion))
    written = 0
    try:
        with target.open("xb") as file:
            while piece := packed.read(_PIECE):
                written += len(piece)
                if written > allowed:
                    raise _too_much(source, "it grows too large", bytes_text(allowed))
                file.write(piece)
    except (EOFError, zlib.error, gzip.BadGzipFile, zipfile.BadZipFile) as problem:
        raise _damaged(source, str(problem)) from problem
    except OSError as problem:
        raise LogError(
            Fault(
                f"it cannot be unpacked ({problem.strerror or problem})",
                file=source.name,
                do="Make room on the disk, or unpack it yourself.",
            )
        ) from problem
    return written


def _too_much(source: Source, found: str, most: str) -> LogError:
    return LogError(Fault(found, file=source.name, expected=f"at most {most}", do=how_to_raise()))


def _damaged(source: Source, why: str) -> LogError:
    return LogError(
        Fault(
            f"it is packed, and damaged ({visible(why)[:120] or 'it ends too early'})",
            file=source.name,
            do="Copy it again from where it came.",
        )
    )
