"""What is written of a log: groups of columns of numbers, each group on its own times."""

from collections.abc import Callable, Sequence

import numpy as np

from tuneledger.arrays import FloatArray
from tuneledger.logs.model import Channel, Log
from tuneledger.record import record
from tuneledger.wording import bare

_NAMELESS = "channel"


@record(eq=False)
class Column:
    """`read` gives one value per time of its group, NaN where there is none.

    It is asked when the column is written and not before, so that a log is never held as a whole.
    """

    name: str
    unit: str
    read: Callable[[], FloatArray]

    @classmethod
    def of(cls, name: str, unit: str, values: FloatArray) -> "Column":
        """A column whose values are there already."""
        return cls(name, unit, lambda: values)

    @property
    def header(self) -> str:
        """The name as the header of a table has it, with its unit in brackets."""
        return f"{self.name} [{self.unit}]" if self.unit else self.name


@record(eq=False)
class Table:
    """Columns on the same times. `title` says what they are, where a format has room for it."""

    title: str
    times: FloatArray
    columns: tuple[Column, ...]


def tables_of(log: Log) -> tuple[Table, ...]:
    """Every group of a log, its channels as numbers: switches 1 and 0, other words missing.

    Names and units come without control and direction codes.
    """
    own = [channel for channel in log.channels if channel != log.time]
    return tuple(
        Table(
            log.file,
            group.times,
            tuple(_column(log, c) for c in own if c.group == number),
        )
        for number, group in enumerate(log.groups)
    )


def _column(log: Log, channel: Channel) -> Column:
    return Column(
        bare(channel.name) or _NAMELESS, bare(channel.unit), lambda: log.values_once(channel)
    )


def renamed(log: Log) -> tuple[str, ...]:
    """The channels whose names or units hold codes that are not written."""
    return tuple(
        channel.name
        for channel in log.channels
        if channel != log.time
        and (bare(channel.name), bare(channel.unit)) != (channel.name, channel.unit)
    )


def lost(log: Log) -> tuple[str, ...]:
    """The channels whose cells are words that are no numbers, and so are not written."""
    return tuple(
        channel.name
        for channel in log.channels
        if channel != log.time
        and log.columns.words(channel.column)
        and not np.isfinite(log.sample(channel)).any()
    )


def count_of(tables: Sequence[Table]) -> int:
    """How many columns there are to write."""
    return sum(len(table.columns) for table in tables)
