"""A column of text as numbers: fast where every cell is plain, careful where one is not."""

import numpy as np
import polars as pl

from tuneledger.arrays import BoolArray, FloatArray
from tuneledger.logs.delimited.cells import BLANKS, Style, bare, is_missing, read_cell
from tuneledger.logs.delimited.styles import column_style
from tuneledger.record import record
from tuneledger.wording import number

_GEARS = {"n": 0.0, "p": 0.0, "r": -1.0}
_HIGHEST_GEAR = 12
_MOST_STRAY_WORDS = 0.05


@record(eq=False)
class Cast:
    """A column read as numbers.

    values:  NaN where missing or unreadable
    bad:     rows with a cell that is neither a number nor a switch nor missing
    says:    what was decided about the way the column writes its values, or ""
    """

    values: FloatArray
    bad: BoolArray
    says: str = ""

    @property
    def settled(self) -> bool:
        """Read by the file's own style alone, every cell."""
        return not self.says and not self.bad.any()


def cast(cells: pl.Series, decimal: str) -> Cast:
    """Read a column. cells: text, null where empty; decimal: the file's decimal mark."""
    numbers = _plainly(cells, decimal)
    if numbers is not None:
        return _settled(numbers)
    cells = cells.str.strip_chars(BLANKS)
    numbers = _plainly(cells, decimal)
    if numbers is not None:
        return _settled(numbers)
    return _carefully(cells, decimal)


def cast_plain_columns(frame: pl.DataFrame, decimal: str) -> dict[int, FloatArray]:
    """The columns of a small table that are plain numbers throughout, all at one go."""
    numbers = frame.select(_numbers(pl.all(), decimal))
    plain = np.array(numbers.null_count().row(0)) == np.array(frame.null_count().row(0))
    if decimal == ",":
        pointed = frame.select(pl.all().str.contains(".", literal=True).any())
        plain &= ~np.array(pointed.row(0), dtype=np.bool_)
    return {int(i): _array(numbers.to_series(int(i))) for i in np.flatnonzero(plain)}


def _settled(numbers: pl.Series) -> Cast:
    return Cast(_array(numbers), np.zeros(len(numbers), dtype=np.bool_))


def _numbers(cells: pl.Expr, decimal: str) -> pl.Expr:
    if decimal == ",":
        cells = cells.str.replace(",", ".", literal=True)
    return cells.cast(pl.Float64, strict=False)


def _plainly(cells: pl.Series, decimal: str) -> pl.Series | None:
    """The column as numbers, or None where a cell needs a second look."""
    if decimal == "," and cells.str.contains(".", literal=True).any():
        return None
    numbers = cells.to_frame("x").select(_numbers(pl.col("x"), decimal)).to_series()
    return numbers if numbers.null_count() == cells.null_count() else None


def _array(numbers: pl.Series) -> FloatArray:
    values = np.array(numbers.to_numpy(), dtype=np.float64)
    values[~np.isfinite(values)] = np.nan
    return values


def _carefully(cells: pl.Series, decimal: str) -> Cast:
    numbers = cells.to_frame("x").select(_numbers(pl.col("x"), decimal)).to_series()
    unsure = numbers.is_null() & cells.is_not_null()
    if decimal == ",":
        unsure |= cells.str.contains(".", literal=True).fill_null(False)
    values, doubtful = _array(numbers), np.asarray(unsure.to_numpy(), dtype=np.bool_)
    values[doubtful] = np.nan
    rest = cells.filter(pl.Series(doubtful))
    distinct = [text for text in rest.unique(maintain_order=True).to_list() if text is not None]
    wordy = [text for text in distinct if not is_missing(text)]
    plain = values[np.isfinite(values)]
    style = column_style(
        wordy,
        decimal,
        highest=float(np.abs(plain).max()) if plain.size else 0.0,
        decimals=bool((plain != np.round(plain)).any()),
    )
    meant = {text: read_cell(text, style) for text in distinct}
    unread = [text for text in wordy if meant[text] is None]
    named = _gears(wordy, plain) or _two_states(wordy, unread, plain)
    meant |= named
    known = {text: value for text, value in meant.items() if value is not None}
    read = rest.replace_strict(
        list(known), list(known.values()), default=None, return_dtype=pl.Float64
    )
    values[doubtful] = _array(read)
    bad = np.zeros(values.shape, dtype=np.bool_)
    bad[doubtful] = np.asarray((read.is_null() & rest.is_not_null()).to_numpy(), dtype=np.bool_)
    if plain.size == 0 and bad.sum() > _MOST_STRAY_WORDS * (np.isfinite(values).sum() + bad.sum()):
        # Several states in words: to read two of them would pass the others off as missing.
        bad |= np.isfinite(values)
        return Cast(np.full(values.shape, np.nan), bad)
    return Cast(values, bad, _says(style, decimal, named, wordy))


def _two_states(wordy: list[str], unread: list[str], plain: FloatArray) -> dict[str, float]:
    """Two unknown words and nothing else are the states of a switch, the one seen first being 0."""
    if plain.size == 0 and len(unread) == len(wordy) == 2:
        return {unread[0]: 0.0, unread[1]: 1.0}
    return {}


def _gears(wordy: list[str], plain: FloatArray) -> dict[str, float]:
    """N, P and R among the whole numbers of a gearbox."""
    letters = {text: _GEARS.get(bare(text).casefold()) for text in wordy}
    whole = plain.size > 0 and bool((plain == np.round(plain)).all())
    if letters and whole and plain.min() >= -1 and 2 <= plain.max() <= _HIGHEST_GEAR:
        return {text: value for text, value in letters.items() if value is not None}
    return {}


def _says(style: Style, decimal: str, named: dict[str, float], cells: list[str]) -> str:
    parts = [f"'{bare(text)}' is read as {number(value)}" for text, value in named.items()]
    if style.decimal != decimal:
        parts.append(f"its decimal mark is '{style.decimal}', not the file's '{decimal}'")
    if style.thousands:
        otherwise = (bare(c) for c in cells if read_cell(c, Style(decimal)) is None)
        read = ((shown, read_cell(shown, style)) for shown in otherwise)
        parts += [f"'{shown}' is read as {n:.15g}" for shown, n in read if n is not None][:1]
    return "; ".join(parts)
