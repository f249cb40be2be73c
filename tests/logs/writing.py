"""A logger that can dress one and the same run in any dialect, and the truth beside it."""

import csv
import io
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path

import numpy as np

TOKENS = ("", "-", "---", "NaN", "n/a", "#N/A", "null")
SWITCHES = (("on", "off"), ("TRUE", "FALSE"), ("yes", "no"), ("Ein", "Aus"), ("ja", "nein"))


@dataclass(frozen=True)
class Column:
    """A channel of the run: its values are multiples of its last decimal; NaN is missing."""

    name: str
    unit: str
    values: np.ndarray
    decimals: int = 1
    switch: tuple[str, str] | None = None


@dataclass(frozen=True)
class Dress:
    """How a logger writes."""

    delimiter: str = ","
    decimal: str = "."
    encoding: str = "utf-8"
    preamble: tuple[str, ...] = ()
    units: str = "none"  # "row", "round", "square", "slash"
    time_as: str = "s"  # "ms", "us", "clock", "minutes", "iso", "epoch"
    time_name: str = "Time"
    time_at: int = 0
    ends: str = "\n"
    trailing: bool = False
    quoted: bool = False
    padded: bool = False
    missing: str = ""
    last_end: bool = True
    blank_lines: int = 0


@dataclass(frozen=True)
class Run:
    """A run: times in seconds from an origin, a raster, and columns."""

    times: np.ndarray
    columns: Sequence[Column] = field(default_factory=tuple)


def write(path: Path, run: Run, dress: Dress) -> Path:
    path.write_bytes(text(run, dress).encode(dress.encoding))
    return path


def text(run: Run, dress: Dress) -> str:
    columns = list(run.columns)
    at = min(dress.time_at, len(columns))
    headers = [_header(c.name, c.unit, dress) for c in columns]
    time_unit = {"s": "s", "ms": "ms", "us": "us"}.get(dress.time_as, "")
    headers.insert(at, _header(dress.time_name, time_unit, dress))
    rows = [list(cells) for cells in zip(*(_cells(c, dress) for c in columns), strict=True)]
    for row, stamp in zip(rows, _stamps(run.times, dress), strict=True):
        row.insert(at, stamp)
    lines = [headers]
    if dress.units == "row":
        units = [c.unit for c in columns]
        units.insert(at, time_unit)
        lines.append(units)
    out = list(dress.preamble) + [""] * dress.blank_lines
    out += [_line(cells, dress) for cells in (*lines, *rows)]
    return dress.ends.join(out) + (dress.ends if dress.last_end else "")


def _header(name: str, unit: str, dress: Dress) -> str:
    if not unit:
        return name
    return {
        "round": f"{name} ({unit})",
        "square": f"{name} [{unit}]",
        "slash": f"{name} / {unit}",
    }.get(dress.units, name)


def _cells(column: Column, dress: Dress) -> list[str]:
    return [_cell(float(value), column, dress) for value in column.values]


def _cell(value: float, column: Column, dress: Dress) -> str:
    if np.isnan(value):
        return dress.missing
    if column.switch:
        return column.switch[0] if value else column.switch[1]
    written = f"{value:.{column.decimals}f}".replace(".", dress.decimal)
    return f"{written:>9}" if dress.padded else written


def _stamps(times: np.ndarray, dress: Dress) -> list[str]:
    if dress.time_as == "ms":
        return [f"{t * 1e3:.0f}" for t in times]
    if dress.time_as == "us":
        return [f"{t * 1e6:.0f}" for t in times]
    if dress.time_as in ("clock", "minutes", "iso"):
        return [_clock(t, dress.time_as) for t in times]
    if dress.time_as == "epoch":
        return [f"{t + 1777830000:.3f}".replace(".", dress.decimal) for t in times]
    return [f"{t:.3f}".replace(".", dress.decimal) for t in times]


def _clock(t: float, form: str) -> str:
    whole, thousandth = divmod(round(t * 1000), 1000)
    minutes, second = divmod(whole, 60)
    hour, minute = divmod(minutes, 60)
    if form == "minutes":
        return f"{minutes:02d}:{second:02d}.{thousandth:03d}"
    clock = f"{hour % 24:02d}:{minute:02d}:{second:02d}.{thousandth:03d}"
    return f"2026-05-{3 + hour // 24:02d}T{clock}Z" if form == "iso" else clock


def _line(cells: Sequence[str], dress: Dress) -> str:
    buffer = io.StringIO()
    csv.writer(
        buffer,
        delimiter=dress.delimiter,
        lineterminator="",
        quoting=csv.QUOTE_ALL if dress.quoted else csv.QUOTE_MINIMAL,
    ).writerow(cells)
    return buffer.getvalue() + (dress.delimiter if dress.trailing else "")


def steady_run(rows: int = 60, raster: float = 0.02, start: float = 0.0) -> Run:
    """A short pull in the trade's everyday channels, for tests that look at one thing only."""
    t = np.arange(rows) * raster
    speed = np.round(900 + 40 * t + 30 * np.sin(9 * t))
    plate = np.round(np.clip(20 * t, 0, 80), 1)
    advance = np.round(12 + 3 * np.sin(5 * t), 1)
    wet = (np.arange(rows) % 20 < 7).astype(float)
    return Run(
        start + t,
        (
            Column("Rev", "rpm", speed, 0),
            Column("Throttle", "%", plate),
            Column("Adv given", "deg", advance),
            Column("Wet switch", "", wet, 0, ("on", "off")),
        ),
    )


def plain(path: Path, **dress: object) -> Path:
    """The steady run in a plain dress, with what a test changes about it."""
    return write(path, steady_run(), replace(Dress(), **dress))  # type: ignore[arg-type]
