"""A case folder: the files that a tool may see, and the truth that it may not.

The shape is that of the shared cases: `log.csv`, `rev-*.toml`, `truth.json`, `truth.csv`, and for
a hidden rule `heldout.csv` with `heldout_truth.csv`. Logs are read here by the format that
`truth.json` states, never by the reader that is being measured.
"""

import csv
import json
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import Any

import numpy as np

from tuneledger.arrays import FloatArray

MISSING = {"", "-", "--", "---", "nan", "n/a", "na", "null"}
WORDS = {"on": 1.0, "true": 1.0, "yes": 1.0, "off": 0.0, "false": 0.0, "no": 0.0}

COLUMN_OF_ENTRY = {"limit": "limit_deg", "other-map": "other_map_deg"}


@dataclass(frozen=True)
class Drive:
    """A log read by its stated format: channels by name, held over rows without a value.

    times: seconds from the first sample. units: by channel name, "" where the log states none.
    """

    times: FloatArray
    channels: Mapping[str, FloatArray]
    units: Mapping[str, str]

    def find(self, name: str) -> str:
        """The channel's name as the log has it, found without regard to case. KeyError if none."""
        wanted = name.strip().casefold()
        for own in self.channels:
            if own.casefold() == wanted:
                return own
        raise KeyError(name)


@dataclass(frozen=True)
class Case:
    """One case on disk."""

    folder: Path

    @property
    def name(self) -> str:
        return self.folder.name

    @cached_property
    def truth(self) -> Mapping[str, Any]:
        text = (self.folder / "truth.json").read_text(encoding="utf-8")
        found: Mapping[str, Any] = json.loads(text)
        return found

    @property
    def kind(self) -> str:
        return str(self.truth["kind"])

    @property
    def files(self) -> tuple[Path, ...]:
        """What a tool under test is given: the log, then the sheets in the order of the truth."""
        sheets = (self.folder / name for name in self.truth["calibrations"])
        return (self.folder / self.truth["log"]["file"], *sheets)

    @cached_property
    def columns(self) -> Mapping[str, FloatArray]:
        """truth.csv: the true ledger, by column."""
        return read_table(self.folder / "truth.csv")

    def true_entry(self, correction: str) -> FloatArray:
        """The true entry of a correction (or `limit`, `other-map`), in degrees per sample."""
        return self.columns[COLUMN_OF_ENTRY.get(correction, f"entry:{correction}")]

    @property
    def log(self) -> Drive:
        """The log as the logger meant it."""
        path = self.folder / self.truth["log"]["file"]
        return read_log(path, self.truth["log_format"], self.columns["time_s"])

    @property
    def has_heldout(self) -> bool:
        return (self.folder / "heldout.csv").is_file()

    @property
    def heldout(self) -> tuple[Drive, FloatArray]:
        """The other drive, and the hidden contribution on it in degrees."""
        hidden = read_table(self.folder / "heldout_truth.csv")
        path = self.folder / "heldout.csv"
        drive = read_log(path, self.truth["heldout_format"], hidden["time_s"])
        return drive, hidden["hidden_deg"]


def cases_in(folder: Path) -> Iterator[Case]:
    """Every case below a folder, by name."""
    for truth in sorted(folder.glob("*/truth.json")):
        yield Case(truth.parent)


def read_table(path: Path) -> Mapping[str, FloatArray]:
    """A plain CSV of numbers by column; an empty cell is NaN."""
    with path.open(encoding="utf-8", newline="") as file:
        rows = list(csv.reader(file))
    header, body = rows[0], rows[1:]
    numbers = np.array([[_plain(cell) for cell in row] for row in body], dtype=np.float64)
    numbers = numbers.reshape(len(body), len(header))
    return {name: numbers[:, index] for index, name in enumerate(header)}


def _plain(cell: str) -> float:
    return float(cell) if cell.strip() else float("nan")


def read_log(path: Path, stated: Mapping[str, Any], times: FloatArray) -> Drive:
    """A log by its stated format; `times` are the truth's, one per row."""
    delimiter = stated["delimiter"]
    with path.open(encoding=stated["encoding"], newline="") as file:
        rows = list(csv.reader(file, delimiter=delimiter))
    first = stated["preamble_lines"] + 1 + bool(stated["unit_row"])
    body = [row for row in rows[first:] if row][: times.size]
    names = _numbered(stated["columns"])
    units = stated["units"]
    comma = stated["decimal"] == ","
    channels = {
        name: _held(
            np.array([_cell(row[index] if index < len(row) else "", comma) for row in body])
        )
        for index, name in enumerate(names)
    }
    return Drive(times, channels, {name: str(units.get(name, "")) for name in names})


def _numbered(names: list[str]) -> list[str]:
    """Channel names with the second of a kind called `Name #2`, as the contract has it."""
    seen: dict[str, int] = {}
    out: list[str] = []
    for name in names:
        key = name.strip().casefold()
        seen[key] = seen.get(key, 0) + 1
        out.append(name.strip() if seen[key] == 1 else f"{name.strip()} #{seen[key]}")
    return out


def _cell(text: str, comma: bool) -> float:
    word = text.strip().casefold()
    if word in MISSING:
        return float("nan")
    if word in WORDS:
        return WORDS[word]
    try:
        return float(word.replace(",", ".") if comma else word)
    except ValueError:
        return float("nan")


def _held(values: FloatArray) -> FloatArray:
    """Missing rows take the last value before them; those before the first stay NaN."""
    index = np.where(np.isfinite(values), np.arange(values.size), -1)
    index = np.maximum.accumulate(index) if values.size else index
    return np.where(index >= 0, values[np.clip(index, 0, None)], np.nan)
