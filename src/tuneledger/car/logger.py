"""The logger: samples a run at its own rate, rounds, converts, and writes a file."""

from collections.abc import Sequence

import numpy as np

from tuneledger.arrays import BoolArray, FloatArray, IntArray
from tuneledger.car.dress import Column, Dress, own_unit
from tuneledger.car.drive import DT, Run
from tuneledger.record import record
from tuneledger.units import conversion


@record
class Lie:
    """A channel that does not tell what was: the log is written so, the ECU reads what it is.

    how: "dead" stands at `number` throughout, "stops" stands from that second on, "ends" goes no
    higher than that, "round" begins anew after that, "noisy" is off by white noise of that standard
    deviation; but for "stops" in the quantity's own unit
    """

    key: str
    how: str
    number: float

    def told(self, values: FloatArray, times: FloatArray) -> FloatArray:
        """What the channel tells of these values, in the quantity's own unit."""
        if self.how == "dead":
            return np.full_like(values, self.number)
        if self.how == "stops":
            last = int(np.searchsorted(times, self.number))
            return np.where(times < self.number, values, values[min(last, values.size - 1)])
        if self.how == "noisy":
            drawn = np.random.default_rng(values.size).normal(0.0, self.number, values.size)
            return np.asarray(values + drawn)
        if self.how == "ends":
            return np.minimum(values, self.number)
        return np.asarray(np.mod(values, self.number))


@record
class Damage:
    """What goes wrong on the way: spans of seconds lost, shares of rows and cells lost.

    turned: keys whose numbers have the wrong sign; lies: channels that do not tell what was
    """

    gaps: tuple[tuple[float, float], ...] = ()
    rows: float = 0.0
    cells: float = 0.0
    turned: tuple[str, ...] = ()
    lies: tuple[Lie, ...] = ()


@record(eq=False)
class Logged:
    """A written log. rows: index of each sample in the run; times: seconds from the first."""

    data: bytes
    rows: IntArray
    times: FloatArray
    columns: tuple[Column, ...]
    dress: Dress

    @property
    def format(self) -> dict[str, object]:
        """How the file is written, in the words of a case's `truth.json`."""
        d = self.dress
        return {
            "delimiter": d.delimiter,
            "decimal": d.decimal,
            "encoding": d.encoding,
            "preamble_lines": len(d.preamble),
            "unit_row": d.units_in == "row",
            "time_as": d.time_as,
            "columns": [c.name for c in self.columns],
            "units": {c.name: c.unit for c in self.columns if c.unit},
        }


def write_log(
    run: Run, columns: Sequence[Column], dress: Dress, seed: int, damage: Damage | None = None
) -> Logged:
    """The file that this logger makes of the run. `columns` includes time, where it stands."""
    damage = damage or Damage()
    rng = np.random.default_rng(seed)
    every = round(1.0 / dress.rate_hz / DT)
    rows = np.arange(0, run.times.size, every, dtype=np.int64)
    rows = rows[_kept(run.times[rows], damage, rng)]
    times = run.times[rows] - run.times[rows[0]]
    cells = [_cells(run, c, dress, damage, rows, rng) for c in columns]
    lines = [*dress.preamble, *_header(columns, dress)]
    end = dress.delimiter if dress.trailing else ""
    lines += [dress.delimiter.join(row) + end for row in zip(*cells, strict=True)]
    text = dress.newline.join(lines) + dress.newline
    return Logged(text.encode(dress.encoding, "replace"), rows, times, tuple(columns), dress)


def _kept(times: FloatArray, damage: Damage, rng: np.random.Generator) -> BoolArray:
    kept = rng.random(times.size) >= damage.rows
    for start, end in damage.gaps:
        kept &= (times < start) | (times >= end)
    kept[0] = True
    return kept


def _header(columns: Sequence[Column], dress: Dress) -> list[str]:
    names = [c.name for c in columns]
    if dress.units_in in ("(", "["):
        close = {"(": ")", "[": "]"}[dress.units_in]
        names = [
            f"{c.name} {dress.units_in}{c.label}{close}" if c.label else c.name for c in columns
        ]
    lines = [dress.delimiter.join(names)]
    if dress.units_in == "row":
        lines.append(dress.delimiter.join(c.label for c in columns))
    end = dress.delimiter if dress.trailing else ""
    return [line + end for line in lines]


def _cells(
    run: Run, c: Column, dress: Dress, damage: Damage, rows: IntArray, rng: np.random.Generator
) -> list[str]:
    if c.key == "time":
        return _clock(run.times[rows], dress)
    values = sampled(run, c, dress, rows)
    for lie in damage.lies:
        if lie.key == c.key:
            scale, offset = conversion(own_unit(c.key), c.unit) or (1.0, 0.0)
            told = lie.told((values - offset) / scale, run.times[rows])
            values = told * scale + offset
    if c.switch and c.between != "line":
        on, off = dress.on_off
        out = [on if v >= 0.5 else off for v in values.tolist()]
    else:
        out = _numbers(np.where(c.key in damage.turned, -values, values), c, dress)
    if c.between == "blank" and c.every > 1:
        out = [cell if i % c.every == 0 else dress.missing for i, cell in enumerate(out)]
    if damage.cells and c.key not in ("scheduled advance", "delivered advance"):
        lost = rng.random(len(out)) < damage.cells
        out = [dress.missing if gone else cell for cell, gone in zip(out, lost, strict=True)]
    return out


def sampled(run: Run, c: Column, dress: Dress, rows: IntArray) -> FloatArray:
    """The numbers of a column at the log's rows, in the column's unit and step."""
    source = _source(run, c.key)
    if c.key == "delivered advance" and dress.lag:
        late = dress.lag / dress.rate_hz
        at = np.interp(run.times[rows] - late, run.times, source)
    else:
        at = source[rows]
    if not c.switch or c.between == "line":
        at = np.round(np.round(at / c.step) * c.step, 6)
    own = own_unit(c.key)
    if c.unit != own:
        scale, offset = conversion(own, c.unit) or (1.0, 0.0)
        at = at * scale + offset
    index = np.arange(at.size)
    if c.every > 1 and c.between == "line":
        own_rows = index[:: c.every]
        return np.asarray(np.interp(index, own_rows, at[own_rows]), dtype=np.float64)
    return np.asarray(at[index - index % c.every], dtype=np.float64)


def _source(run: Run, key: str) -> FloatArray:
    """A quantity along the run; without spark to speak of both advances read zero."""
    if key == "scheduled advance":
        return np.where(run.void, 0.0, run.scheduled)
    if key == "delivered advance":
        return np.where(run.void, 0.0, run.delivered)
    return run.columns[key]


def _numbers(values: FloatArray, c: Column, dress: Dress) -> list[str]:
    values = np.round(values, c.decimals) + 0.0
    form = f"%.{c.decimals}f"
    out = [form % v for v in values.tolist()]
    return [cell.replace(".", ",") for cell in out] if dress.decimal == "," else out


def _clock(times: FloatArray, dress: Dress) -> list[str]:
    at = times + dress.time_from
    if dress.time_as == "ms":
        return [f"{1000 * t:.0f}" for t in at.tolist()]
    if dress.time_as == "clock":
        ms = np.round(at * 1000).astype(np.int64).tolist()
        return [
            f"{t // 3600000:02d}:{t // 60000 % 60:02d}:{t // 1000 % 60:02d}.{t % 1000:03d}"
            for t in ms
        ]
    out = [f"{t:.3f}" for t in at.tolist()]
    return [cell.replace(".", ",") for cell in out] if dress.decimal == "," else out
