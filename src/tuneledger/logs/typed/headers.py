"""The headers of a typed table, read as those of a table in text are."""

from collections.abc import Sequence

from tuneledger.logs.delimited.names import custom_of, numbered, split_name
from tuneledger.logs.delimited.sources import without_sources


def split_headers(headers: Sequence[str]) -> list[tuple[str, int, str]]:
    """(name, twin, unit) of each column, read as the headers of a table in text are."""
    custom = custom_of(headers)
    parts = [
        split_name(text, custom) if text.strip() else (f"Column {i + 1}", "")
        for i, text in enumerate(headers)
    ]
    named = numbered(without_sources([name for name, _ in parts]))
    return [(name, twin, unit) for (name, twin), (_, unit) in zip(named, parts, strict=True)]
