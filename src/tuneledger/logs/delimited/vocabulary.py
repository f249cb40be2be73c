"""The word lists of `words.txt`, one tuple per section, in lower case."""

from functools import cache
from pathlib import Path

_FILE = Path(__file__).with_name("words.txt")


@cache
def _sections() -> dict[str, tuple[str, ...]]:
    found: dict[str, list[str]] = {}
    entries: list[str] = []
    for line in _FILE.read_text(encoding="utf-8").splitlines():
        if line.startswith("[") and line.endswith("]"):
            entries = found.setdefault(line[1:-1], [])
        elif line and not line.startswith("# "):
            entries.extend(entry for part in line.split(",") if (entry := part.strip()))
    return {name: tuple(e.casefold() for e in listed) for name, listed in found.items()}


def words(section: str) -> tuple[str, ...]:
    """The entries of a section. KeyError for a section that the file does not have."""
    return _sections()[section]


@cache
def word_set(section: str) -> frozenset[str]:
    """The same, to look words up."""
    return frozenset(words(section))
