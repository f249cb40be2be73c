"""What belongs to a process and goes with it, however it ended: folders and drafts of ours.

Their owner holds a lock on them (flock), which the system takes back when a process ends, killed or
not. So what carries one of our names, belongs to this user, and is locked by nobody was left behind
and can be cleared. Where a system has no such locks, nothing is held and nothing is ever cleared.
"""

import os
import re
import shutil
import stat
from pathlib import Path

try:
    import fcntl
except ImportError:  # Windows
    fcntl = None  # type: ignore[assignment]

UNLOCKED = -1
_OPEN = os.O_RDONLY | getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_NONBLOCK", 0)


def hold(path: Path, *, shared: bool = False) -> int | None:
    """Lock a file or folder that was just made, for as long as the handle is open.

    None where it is gone again, or somebody who clears up has it: make another. UNLOCKED where it
    cannot be locked here. shared: several may hold it, and it is cleared when none does
    """
    if fcntl is None:
        return UNLOCKED
    try:
        handle = os.open(path, _OPEN)
    except FileNotFoundError:
        return None
    except OSError:
        return UNLOCKED
    try:
        fcntl.flock(handle, (fcntl.LOCK_SH if shared else fcntl.LOCK_EX) | fcntl.LOCK_NB)
    except BlockingIOError:
        os.close(handle)
        return None
    except OSError:  # a file system without locks
        os.close(handle)
        return UNLOCKED
    if not _still(path, handle):
        os.close(handle)
        return None
    return handle


def let_go(handle: int | None) -> None:
    """Give back what `hold` gave."""
    if handle is not None and handle != UNLOCKED:
        os.close(handle)


def clear_left_behind(folder: Path, names: re.Pattern[str]) -> None:
    """Remove what nobody owns any more: files and folders in `folder` of exactly those names.

    Only what belongs to this user, is locked by nobody, and is no link. Whatever cannot be cleared
    stays where it is.
    """
    if fcntl is None:
        return
    try:
        with os.scandir(folder) as entries:
            found = [entry.name for entry in entries if names.fullmatch(entry.name)]
    except OSError:
        return
    for name in found:
        _clear(folder / name)


def _clear(path: Path) -> None:
    try:
        handle = os.open(path, _OPEN)
    except OSError:  # gone meanwhile, a link, or not ours to read
        return
    try:
        found = os.fstat(handle)
        if found.st_uid != os.getuid():
            return
        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
        if not _still(path, handle):
            return
        if stat.S_ISDIR(found.st_mode):
            shutil.rmtree(path, ignore_errors=True)  # follows no link, within it either
        elif stat.S_ISREG(found.st_mode):
            path.unlink()
    except OSError:  # its owner holds it
        return
    finally:
        os.close(handle)


def _still(path: Path, handle: int) -> bool:
    """Whether the path still stands for what was opened: it may have been cleared in between."""
    try:
        return os.path.samestat(os.lstat(path), os.fstat(handle))
    except OSError:
        return False
