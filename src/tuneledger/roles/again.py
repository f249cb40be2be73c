"""Channels that carry what another of the same name carries already, on another raster or port."""

import re
from collections.abc import Sequence

import numpy as np

from tuneledger.arrays import FloatArray
from tuneledger.logs.delimited.sources import channel_parts
from tuneledger.logs.model import Log
from tuneledger.roles.facts import Facts

_LESS = 3.0  # log-odds by which the one on the coarser raster is less likely meant
_SAME = 0.1  # how far two spans may lie apart, as a share of the wider: rasters meet other peaks
_NUMBER = re.compile(r" #\d+$")


def counted_again(log: Log, facts: Sequence[Facts]) -> FloatArray:
    """What is taken off each channel's weights: 0 but for those that are another one again.

    Such have its name, but for a number or a source behind it, its unit, and run as far. The one
    on the finest raster stays, of several the first.
    """
    parts = channel_parts([one.channel.name for one in facts])
    alike: dict[tuple[str, str], list[int]] = {}
    for i, ((name, _), one) in enumerate(zip(parts, facts, strict=True)):
        base = _NUMBER.sub("", name) if one.channel.twin > 1 else name
        alike.setdefault((base.casefold(), one.channel.unit.casefold()), []).append(i)
    less = np.zeros(len(facts))
    for group in alike.values():
        by_rows = sorted(group, key=lambda i: (-log.times(facts[i].channel).size, i))
        for place, i in enumerate(by_rows):
            if any(_runs_alike(facts[i], facts[j]) for j in by_rows[:place]):
                less[i] = _LESS
    return less


def _runs_alike(one: Facts, other: Facts) -> bool:
    if not one.count or not other.count:
        return False
    room = _SAME * max(one.span, other.span)
    return abs(one.low - other.low) <= room and abs(one.high - other.high) <= room
