"""Readings of a timing light: speed, what was commanded, what was seen at the crank."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from itertools import permutations
from pathlib import Path

import numpy as np

from tuneledger.arrays import BoolArray, FloatArray, IntArray
from tuneledger.errors import Fault, LogError
from tuneledger.handed import no_log
from tuneledger.light.plausible import (
    MOST_DEG,
    NAMES,
    UNITS,
    keep_to_readings,
    keep_to_what_can_be,
)
from tuneledger.light.words import Side, weight
from tuneledger.logs.delimited.table import Table, read_table
from tuneledger.logs.model import Channel
from tuneledger.logs.source import open_source
from tuneledger.record import record
from tuneledger.roles.words import read_name
from tuneledger.units import conversion, parse_unit
from tuneledger.units.topdead import counts_after
from tuneledger.wording import count, few, listing, visible

_SAYS_SPEED = 2.0


@record(eq=False)
class Readings:
    """What was read, one element per usable reading, in the order of the file.

    rpm: above 0; commanded, observed: degrees before top dead centre
    rows: number of each in the table, 1 the first row below the header; lines: of the file
    columns: which column is taken for what; notes: what was assumed or left out
    """

    file: str
    rpm: FloatArray
    commanded: FloatArray
    observed: FloatArray
    rows: IntArray
    lines: IntArray
    columns: Mapping[str, str]
    notes: tuple[str, ...] = ()

    @property
    def off(self) -> FloatArray:
        """Observed − commanded, degrees: above 0 where the spark comes earlier than commanded."""
        return self.observed - self.commanded


def open_readings(path: Path | str, *, columns: Mapping[str, str] | None = None) -> Readings:
    """Read a table of readings, in any dress in which logs come.

    columns: "rpm", "commanded" or "observed" → the name of its column, where the file's own words
             do not tell or tell it wrongly

    Raises LogError: not a table, more rows than anybody reads by eye, a column that cannot be told,
    a number that cannot be.
    """
    source = open_source(Path(path))
    fault = no_log(source)
    if fault is not None:
        raise LogError(replace(fault, expected="readings of a timing light"))
    table = read_table(source)
    keep_to_readings(table)
    found = _find(table, _told(table, columns or {}))
    numbers = {name: _numbers(table, found[name], name) for name in NAMES}
    whole = np.isfinite(np.array(list(numbers.values()))).all(axis=0)
    rows = np.flatnonzero(whole).astype(np.int64)
    kept = {name: values[rows] for name, values in numbers.items()}
    keep_to_what_can_be(table, kept, rows, found)
    return Readings(
        file=table.file,
        rpm=kept["rpm"],
        commanded=kept["commanded"],
        observed=kept["observed"],
        rows=rows + 1,
        lines=table.lines[rows],
        columns={name: channel.name for name, channel in found.items()},
        notes=tuple(_notes(table, found, whole)),
    )


def _told(table: Table, columns: Mapping[str, str]) -> dict[str, Channel]:
    """The columns that the user named."""
    out: dict[str, Channel] = {}
    faults = []
    for name, wanted in columns.items():
        sought = wanted.strip().casefold()
        fitting = [c for c in table.channels if sought in (c.name.casefold(), c.header.casefold())]
        if not fitting:
            names = listing(f"'{visible(c.name)}'" for c in table.channels)
            faults.append(
                Fault(
                    f"there is no column '{visible(wanted)}' for {name}",
                    file=table.file,
                    do=f"It has {names}.",
                )
            )
            continue
        out[name] = fitting[0]
    if faults:
        raise LogError(faults)
    return out


def _find(table: Table, told: Mapping[str, Channel]) -> dict[str, Channel]:
    """The three columns: as told, else speed by unit, name or size, and the others by their words.

    Where one of the two advances is known and only one column of angles is left, that is the other.
    """
    taken = set(told.values())
    free = [c for c in table.channels if c not in taken and _holds_numbers(table, c)]
    found = dict(told)
    if "rpm" not in found:
        found["rpm"] = _speed(table, free)
        free = [c for c in free if c != found["rpm"]]
    free = [c for c in free if _kind(c) in ("", "number", "angle")]
    wanted: list[Side] = [n for n in ("commanded", "observed") if n not in found]
    if not wanted:
        return found
    if len(free) < len(wanted):
        unnamed = [side for side in wanted if not any(weight(c.header, side) for c in free)]
        raise LogError(_missing(table, unnamed or wanted))
    if len(wanted) == 1 and len(free) == 1:
        return found | {wanted[0]: free[0]}
    ways = sorted(
        ((_score(way, wanted), way) for way in permutations(free, len(wanted))),
        key=lambda scored: -scored[0],
    )
    best, way = ways[0]
    if best <= 0 or (len(ways) > 1 and best - ways[1][0] < 1):
        raise LogError(_unclear(table, wanted, free))
    return found | dict(zip(wanted, way, strict=True))


def _score(way: Sequence[Channel], wanted: Sequence[Side]) -> int:
    """How well columns fit what is wanted, by their words; one that says the other counts off."""
    other: dict[Side, Side] = {"commanded": "observed", "observed": "commanded"}
    return sum(
        weight(c.header, side) - weight(c.header, other[side])
        for c, side in zip(way, wanted, strict=True)
    )


def _speed(table: Table, free: Sequence[Channel]) -> Channel:
    by_unit = [c for c in free if _kind(c) == "rotation"]
    if len(by_unit) == 1:
        return by_unit[0]
    named = [(said, c) for c in by_unit or free if (said := _says_speed(c)) >= _SAYS_SPEED]
    if named:
        return max(named, key=lambda one: one[0])[1]
    fast = [c for c in by_unit or free if float(np.nanmedian(table.numbers(c))) > 4 * MOST_DEG]
    if len(fast) == 1:
        return fast[0]
    raise LogError(_missing(table, ["rpm"]))


def _says_speed(channel: Channel) -> float:
    unit = parse_unit(channel.name)
    if unit is not None and unit.kind == "rotation":
        return 10.0  # `U/min` as the whole name
    said = read_name(channel.name)
    return said["engine speed"].weight if said else 0.0


def _kind(channel: Channel) -> str:
    unit = parse_unit(channel.unit) if channel.unit else None
    return unit.kind if unit else ""


def _after(channel: Channel) -> bool:
    return counts_after(f"{channel.header} {channel.unit}")


def _holds_numbers(table: Table, channel: Channel) -> bool:
    return bool(np.isfinite(table.numbers(channel)).any())


def _numbers(table: Table, channel: Channel, name: str) -> FloatArray:
    """A column in rpm, or in degrees before top dead centre."""
    values = table.numbers(channel)
    known = conversion(channel.unit, UNITS[name]) if channel.unit else None
    if known is not None:
        values = values * known[0] + known[1]
    if name != "rpm" and _after(channel):
        values = -values
    return values


def _notes(table: Table, found: Mapping[str, Channel], whole: BoolArray) -> list[str]:
    notes = list(table.notes)
    turned = [found[name] for name in ("commanded", "observed") if _after(found[name])]
    notes += [f"{visible(c.name)} is counted after top dead centre; turned" for c in turned]
    if not whole.all():
        lines = [str(table.lines[row]) for row in np.flatnonzero(~whole)]
        of = "line" if len(lines) == 1 else "lines"
        notes.append(
            f"{count(len(lines), 'row')} without all three numbers left out ({of} {few(lines)})"
        )
    return notes


def _missing(table: Table, wanted: Sequence[str]) -> Fault:
    names = listing(f"'{visible(c.name)}'" for c in table.channels)
    options = listing(f"--{name} NAME" for name in wanted)
    return Fault(
        f"no column can be told to hold {listing(wanted)}",
        file=table.file,
        expected="engine speed, commanded advance and observed advance, in columns",
        do=f"It has {names}; say which it is with {options}.",
    )


def _unclear(table: Table, wanted: Sequence[str], free: Sequence[Channel]) -> Fault:
    names = listing(f"'{visible(c.name)}'" for c in free)
    options = listing(f"--{name} NAME" for name in wanted)
    return Fault(
        f"the words do not tell which of {names} holds {listing(wanted)}",
        file=table.file,
        do=f"Say it with {options}: guessing here would turn the correction round.",
    )
