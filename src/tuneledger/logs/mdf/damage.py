"""Damage of an MDF file that would else look like size: chains without an end, and counts.

The library would follow blocks that name each other in a circle for ever. ASAM MDF 3 and 4: a data
group names the next one and its first channel group; that one names the next and its first channel;
that one names the next. Part of what runs apart.
"""

import mmap
import struct
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

_VERSION = 8  # where its text stands
_BIG_ENDIAN = 24  # of version 3: any but zero says so
_HEADER = 64  # the first block; its first link is the first data group
_NEXT, _FIRST_WITHIN = 0, 1  # links of a group

_Link = Callable[[int, int], int]


class _RoundError(Exception):
    """A chain comes back to a block that it has passed."""


def goes_round(path: Path) -> bool:
    """Whether a chain of blocks has no end. False, too, where one leads out of the file."""
    with path.open("rb") as file, mmap.mmap(file.fileno(), 0, access=mmap.ACCESS_READ) as data:
        link = _links_of(data)
        try:
            for group in _chain(link, link(_HEADER, 0)):
                for channels in _chain(link, link(group, _FIRST_WITHIN)):
                    for _ in _chain(link, link(channels, _FIRST_WITHIN)):
                        pass
        except _RoundError:
            return True
        except struct.error:
            return False
    return False


def claims_too_much(mdf: Any, size: int) -> bool:
    """Whether records are counted that a file of so many bytes cannot hold.

    Version 3 packs nothing, so that it can be told; of version 4 it is not.
    """
    groups = [group.channel_group for group in mdf.groups]
    claimed = sum(int(group.cycles_nr) * int(group.samples_byte_nr) for group in groups)
    return str(mdf.version) < "4" and claimed > size


def _links_of(data: mmap.mmap) -> _Link:
    """A function of a block's place and a link's number, from 0: where that leads; 0 is nowhere."""
    if data[_VERSION : _VERSION + 1] >= b"4":
        start, size, form = 24, 8, "<Q"
    else:
        start, size = 4, 4
        form = ">I" if any(data[_BIG_ENDIAN : _BIG_ENDIAN + 2]) else "<I"

    def link(block: int, number: int) -> int:
        place = block + start + size * number
        if place + size > len(data):
            raise struct.error
        return int(struct.unpack_from(form, data, place)[0])

    return link


def _chain(link: _Link, block: int) -> Iterator[int]:
    """The blocks of a chain from its first on. _RoundError where it has no end."""
    passed: set[int] = set()
    while block:
        if block in passed:
            raise _RoundError
        passed.add(block)
        yield block
        block = link(block, _NEXT)
