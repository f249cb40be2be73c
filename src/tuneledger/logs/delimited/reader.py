"""Delimited text to `Log`: the steps in their order."""

from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np

from tuneledger.arrays import BoolArray, IntArray, frozen
from tuneledger.errors import Fault, LogError
from tuneledger.logs.behaviour import time_gaps
from tuneledger.logs.delimited.channels import find_channels, name_notes
from tuneledger.logs.delimited.columns import TextColumns
from tuneledger.logs.delimited.dialect import DELIMITERS
from tuneledger.logs.delimited.grid import Body
from tuneledger.logs.delimited.layout import Layout
from tuneledger.logs.delimited.moment import began
from tuneledger.logs.delimited.names import split_name
from tuneledger.logs.delimited.plain import Dress
from tuneledger.logs.delimited.plan import Plan, decimal_mark, raise_if
from tuneledger.logs.delimited.rows import find_rows
from tuneledger.logs.delimited.styles import Decimal
from tuneledger.logs.delimited.text import Text
from tuneledger.logs.delimited.timebase import TimeColumn, find_time
from tuneledger.logs.delimited.timecheck import FEWEST_SAMPLES, Times, check_times, no_run
from tuneledger.logs.model import Channel, Group, Log
from tuneledger.logs.source import Source
from tuneledger.wording import count, few, quantity, time_span, visible


def as_log(source: Source, how: Plan, body: Body) -> Log:
    """The log of a file that was read. LogError where it cannot be used, with the place and what
    to do."""
    text, layout = how.text, how.layout
    decimal = decimal_mark(source, layout)
    channels = find_channels(source.name, layout)
    columns = TextColumns(
        body.grid,
        decimal.value,
        {channel.column: channel.name for channel in channels},
        first_line=layout.first + 1,
    )
    time = find_time(columns, channels)
    if time is None:
        raise LogError(_no_time(source, channels))
    times, more = _times(source, text, layout, body, columns, time)
    raise_if(_no_values(columns, channels, time.channel), source)
    step = float(np.median(np.diff(times.times)))
    return Log(
        file=source.name,
        groups=(Group(times.times),),
        channels=tuple(channels),
        time=time.channel,
        columns=columns,
        layout=_described(text, layout, decimal, time, step),
        notes=(*name_notes(channels), *more, *time.notes, *times.notes, *_gap_notes(times)),
        began=began(time.origin, times.first_s),
    )


def _times(
    source: Source,
    text: Text,
    layout: Layout,
    body: Body,
    columns: TextColumns,
    time: TimeColumn,
) -> tuple[Times, tuple[str, ...]]:
    """The times of all rows that are samples; the columns give only those rows from here on."""
    rows = find_rows(source, text.encoding, layout, body, time.stamps)
    if isinstance(rows, Fault):
        raise LogError(replace(rows, file=source.name))
    kept = np.flatnonzero(rows.keep)
    if kept.size < FEWEST_SAMPLES:
        raise LogError(no_run(source.name, int(kept.size)))
    columns.keep_only(rows.keep)
    times = check_times(
        time.stamps[kept],
        time.raw[kept],
        wrap=time.wrap,
        line=_line_namer(layout, kept),
        both=_shared_cells(columns, time.channel, layout.width, kept),
    )
    if isinstance(times, Fault):
        place = f"{times.place}, column" if times.place else "column"
        place = f"{place} '{visible(time.channel.name)}'"
        raise LogError(replace(times, file=source.name, place=place))
    frozen(times.times)
    return times, rows.notes


def _line_namer(layout: Layout, kept: IntArray) -> Callable[[int], str]:
    def name(sample: int) -> str:
        return f"row {sample + 1} (line {layout.first + int(kept[sample]) + 1} of the file)"

    return name


def _shared_cells(
    columns: TextColumns, time: Channel, width: int, kept: IntArray
) -> Callable[[IntArray], BoolArray]:
    """For samples: whether one and the sample before both hold a value of one channel."""

    def both(samples: IntArray) -> BoolArray:
        shared = np.zeros(samples.shape, dtype=np.bool_)
        for i in range(width):
            if i != time.column:
                has = columns.cells(i).is_not_null().to_numpy()
                shared |= has[kept[samples]] & has[kept[samples - 1]]
        return shared

    return both


def _no_time(source: Source, channels: Sequence[Channel]) -> Fault:
    names = [f"'{visible(channel.name)}'" for channel in channels]
    return Fault(
        "no column is time: none is named or measured as time and rises from row to row",
        file=source.name,
        place=f"columns {few(names)}",
        expected="a column of time in s, ms or hh:mm:ss",
        do="Log with a time column; a counter of rows is none.",
    )


def _no_values(columns: TextColumns, channels: Sequence[Channel], time: Channel) -> Fault | None:
    others = [channel.column for channel in channels if channel != time]
    if any(np.isfinite(columns.sample(i)).any() for i in others):
        return None
    if any(np.isfinite(columns.numbers(i)).any() for i in others):
        return None
    return Fault(
        "no channel holds a single number",
        expected="at least one channel with values beside the time",
        do="Check that the logger was connected, and which channels it was told to log.",
    )


def _gap_notes(times: Times) -> list[str]:
    gaps = time_gaps(times.times)
    if not gaps:
        return []
    shown = few([time_span(start, end) for start, end in gaps])
    return [f"no samples from {shown}"]


def _described(
    text: Text, layout: Layout, decimal: Decimal, time: TimeColumn, step: float
) -> dict[str, str]:
    lines = layout.header_line
    units = "none" if layout.units_line is None else f"line {layout.units_line + 1}"
    if layout.units is None and any(split_name(cell)[1] for cell in layout.header):
        units = "in the names"
    return {
        "format": "delimited text",
        "encoding": _encoding(text.encoding),
        "line ends": text.ends,
        "delimiter": _delimiter(text, layout),
        "decimal mark": "comma" if decimal is Decimal.COMMA else "point",
        "preamble": count(lines, "line") if lines else "none",
        "header": f"line {layout.header_line + 1}",
        "units": units,
        "first sample": f"line {layout.first + 1}",
        "time": f"'{visible(time.channel.name)}', {time.unit} ({time.why})",
        "raster": quantity(step * 1000.0, "ms") if step < 1 else quantity(step, "s"),
    }


def _delimiter(text: Text, layout: Layout) -> str:
    blanks = {Dress.BLANKS, Dress.WIDE_BLANKS} & {*text.dress}
    return "blanks" if blanks else DELIMITERS[layout.delimiter]


def _encoding(codec: str) -> str:
    return _ENCODINGS.get(codec) or f"Windows-{codec.removeprefix('cp')}"


_ENCODINGS = {
    "utf-8-sig": "UTF-8 with a byte order mark",
    "utf-8": "UTF-8",
    "utf-16": "UTF-16",
    "utf-16-le": "UTF-16",
    "utf-16-be": "UTF-16",
    "cp1252": "Latin-1 (Windows-1252)",
    "latin-1": "Latin-1",
    "cp932": "Shift JIS",
    "euc_jp": "EUC-JP",
    "cp949": "Korean (Windows-949)",
    "gb18030": "GB 18030",
    "cp950": "Big5",
}
