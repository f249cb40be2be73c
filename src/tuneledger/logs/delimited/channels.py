"""The channels that a header and its samples make."""

from collections.abc import Sequence
from functools import lru_cache

from tuneledger.logs.delimited.layout import Layout
from tuneledger.logs.delimited.names import custom_of, numbered, split_name
from tuneledger.logs.delimited.sources import without_sources
from tuneledger.logs.delimited.styles import common_suffix
from tuneledger.logs.model import Channel
from tuneledger.wording import count, few, visible


@lru_cache(maxsize=1)  # their names are asked for while the samples are being read
def find_channels(file: str, layout: Layout) -> tuple[Channel, ...]:
    """Every column that has a name, or cells, as a channel."""
    cells = [
        [row[i] for row in layout.rows if i < len(row) and row[i]] for i in range(layout.width)
    ]
    headers = [*layout.header, *[""] * layout.width][: layout.width]
    used = [i for i in range(layout.width) if headers[i] or cells[i]]
    custom = custom_of(layout.header)
    parts = [
        split_name(headers[i], custom) if headers[i] else (f"Column {i + 1}", "") for i in used
    ]
    labels = layout.units or ()
    channels = []
    for i, (name, twin), (_, unit) in zip(
        used, numbered(without_sources([name for name, _ in parts])), parts, strict=True
    ):
        label = labels[i] if i < len(labels) else ""
        found = label or unit or common_suffix(cells[i])
        channels.append(Channel(name, found, headers[i], file, i, twin))
    return tuple(channels)


def name_notes(channels: Sequence[Channel]) -> list[str]:
    """What had to be done to the names: numbered, or made up."""
    notes = []
    twins = [f"'{visible(c.name)}'" for c in channels if c.twin > 1]
    if twins:
        notes.append(f"names that stand more than once are numbered: {few(twins)}")
    unnamed = [c.name for c in channels if not c.header]
    if unnamed:
        notes.append(f"{count(len(unnamed), 'column')} without a name: {few(unnamed)}")
    return notes
