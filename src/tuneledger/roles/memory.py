"""What somebody said of a log's channels, remembered for the next log with the same header.

Kept as one roles file per header in the user's data folder: `TUNELEDGER_HOME`, else
`$XDG_DATA_HOME/tuneledger`, else `~/.local/share/tuneledger`. Nothing here ever raises: a folder
that cannot be read or written, or a file that is damaged, is as good as no memory.
"""

import hashlib
import os
from pathlib import Path

from tuneledger.errors import RolesError
from tuneledger.logs.model import Log
from tuneledger.roles.files import RolesFile, check_against, read_roles_file, text_of


def recall(log: Log) -> RolesFile | None:
    """What was said of a log with this header, or None."""
    place = _place(log)
    if place is None or not place.is_file():
        return None
    try:
        told = read_roles_file(place)
    except RolesError:
        return None
    return None if check_against(told, log) else told


def remember(log: Log, told: RolesFile) -> str | None:
    """Keep what was said for logs with this header. Returns a sentence for `notes`, or None."""
    place = _place(log)
    if place is None or not (told.roles or told.units):
        return None
    told = told.over(recall(log))
    temporary = place.with_suffix(f".{os.getpid()}.part")
    try:
        place.parent.mkdir(parents=True, exist_ok=True)
        temporary.write_text(text_of(told), encoding="utf-8")
        temporary.replace(place)
    except OSError:
        temporary.unlink(missing_ok=True) if temporary.parent.is_dir() else None
        return None
    return "these roles are remembered for logs with the same header"


def forget(log: Log) -> bool:
    """Drop what is remembered for this header; whether there was anything."""
    place = _place(log)
    try:
        if place is None or not place.is_file():
            return False
        place.unlink()
    except OSError:
        return False
    return True


def signature(log: Log) -> str:
    """The same for two logs whose headers hold the same channels, in whatever order."""
    headers = sorted(channel.header.strip() for channel in log.channels)
    return hashlib.sha256("\n".join(headers).encode()).hexdigest()[:32]


def _place(log: Log) -> Path | None:
    try:
        home = os.environ.get("TUNELEDGER_HOME")
        if home is None:
            data = os.environ.get("XDG_DATA_HOME") or str(Path.home() / ".local" / "share")
            home = str(Path(data) / "tuneledger")
        return Path(home) / "roles" / f"{signature(log)}.toml" if home else None
    except (RuntimeError, OSError):  # no home at all
        return None
