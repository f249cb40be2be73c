"""Numbers, spans and lists as people read them; the lowest room of all, it imports nothing.

One place decides how a degree, a second or a threshold looks, so that a sentence from the
explanation, the terminal and the page never disagree. The minus is the true one (U+2212).
"""

import math
import unicodedata
from collections.abc import Iterable, Sequence

MINUS = "−"
NOT_KNOWN = "not known"
_BEYOND_INSTRUMENTS = 1e15
_FEW = 3

_HIDDEN = ("Cc", "Cf", "Cs", "Zl", "Zp")  # Unicode: control, format, surrogate, line, paragraph
_JOINERS = "\u200c\u200d"  # Persian and Indic words need them, and they move nothing
_BREAKS = "\t\n\r\x0b\x0c\x85\u2028\u2029"
# What opens a formula in a spreadsheet, in full width too: common practice, no source.
_FORMULA = ("=", "+", "-", "@", "＝", "＋", "－", "＠")
_UNITS = {"degC": "°C", "degF": "°F", "deg": "°", "ratio": ""}


def degrees(value: float | None, places: int = 1, *, signed: bool = True) -> str:
    """`degrees(-4.0)` is `−4.0°`, `degrees(3, 0)` is `+3°`; zero has no sign.

    What rounds to zero is zero, without a sign. None and NaN are "not known". A half is rounded
    away from zero, as read to a hundredth: 3.0500001 and 3.05 are one number in one statement.
    """
    if value is None or not math.isfinite(value):
        return NOT_KNOWN
    if places == 1:
        value = math.copysign(math.floor(round(abs(value), 2) * 10.0 + 0.5 + 1e-6) / 10.0, value)
    return _signed(value, places, signed) + "°"


def degree_span(low: float, high: float, places: int = 1) -> str:
    """`−6.0° to +5.0°`, or one number where both round to the same."""
    first, last = degrees(low, places), degrees(high, places)
    return first if first == last else f"{first} to {last}"


def degree_range(low: float, high: float, places: int = 1) -> str:
    """The same for a narrow column: `−6.0…+5.0°`."""
    first, last = degrees(low, places), degrees(high, places)
    return first if first == last else f"{first.removesuffix('°')}…{last}"


def bound(value: float) -> str:
    """A size that something stays within: rounded up, so that it holds, and never 0.0°."""
    if not math.isfinite(value):
        return NOT_KNOWN
    return degrees(max(math.ceil(abs(value) * 10 - 1e-6) / 10, 0.1), signed=False)


def seconds(value: float | None) -> str:
    """A duration as fine as a person can use: 0.05 s, 5.5 s, 38 s, 2 min 5 s, 12 min, 1 h 2 min."""
    if value is None or not math.isfinite(value):
        return NOT_KNOWN
    size = abs(value)
    if size < 0.095:
        return f"{_signed(value, 2, False)} s"
    if size < 9.95:
        return f"{_signed(value, 1, False)} s"
    whole = round(value)
    if whole < 120:
        return f"{whole} s"
    if whole < 600:
        minutes, rest = divmod(whole, 60)
        return f"{minutes} min {rest} s" if rest else f"{minutes} min"
    hours, minutes = divmod(round(value / 60), 60)
    if not hours:
        return f"{minutes} min"
    return f"{hours} h {minutes} min" if minutes else f"{hours} h"


def instant(value: float) -> str:
    """A point in the log's time, fine enough to find it there: `12.40 s`."""
    return f"{_signed(value, 2, False)} s"


def time_span(start: float, end: float) -> str:
    """A stretch of the log's time: `12.4 to 17.9 s`."""
    return f"{_signed(start, 1, False)} to {_signed(end, 1, False)} s"


def number(value: float, digits: int = 4) -> str:
    """A reading or threshold with at most so many digits, without trailing zeros or exponent.

    Digits before the point are never dropped: 7412.6 with four digits is 7413. What no instrument
    shows is written with a power of ten: `1 × 10^308`.
    """
    if not math.isfinite(value):
        return NOT_KNOWN
    if value == 0:
        return "0"
    if abs(value) >= _BEYOND_INSTRUMENTS:
        mantissa, _, power = f"{value:.{max(0, digits - 1)}e}".partition("e")
        return f"{number(float(mantissa), digits)} × 10^{int(power)}"
    places = max(0, digits - 1 - math.floor(math.log10(abs(value))))
    text = _signed(value, min(places, 12), False)
    return text.rstrip("0").rstrip(".") if "." in text else text


def quantity(value: float, unit: str | None, digits: int = 4) -> str:
    """A number with its unit: `180 kPa`, `55 %`, `62 °C`, `−4°`; `0.9` where it has none."""
    spelled = unit_words(unit)
    space = "" if spelled in ("", "°") else " "
    return f"{number(value, digits)}{space}{spelled}"


def unit_words(unit: str | None) -> str:
    """A unit as people write it: `degC` is `°C`; an unknown spelling stays as it is."""
    return _UNITS.get(unit or "", unit or "")


def numbers_of(unit: str) -> str:
    """What numbers in a unit are, in a sentence: `°F`; a fraction has no unit to name."""
    return "a fraction from 0 to 1" if unit == "1" else unit_words(unit)


def share(value: float | None) -> str:
    """A certainty or a coverage, 0 to 1, as `98 %`; rounded down, so that no bound is passed."""
    if value is None or not math.isfinite(value):
        return NOT_KNOWN
    return f"{math.floor(value * 100 + 1e-6)} %"


def count(n: int, one: str, many: str | None = None) -> str:
    """`1 episode`, `3 episodes`; `many` for a plural that is not formed with s."""
    return f"{n} {one if n == 1 else many or one + 's'}"


def listing(items: Iterable[str], joiner: str = "and") -> str:
    """`a`, `a and b`, `a, b and c`; an empty string for nothing."""
    words = list(items)
    if len(words) < 2:
        return "".join(words)
    return f"{', '.join(words[:-1])} {joiner} {words[-1]}"


def few(names: Sequence[str], most: int = _FEW) -> str:
    """A list that stays short: three names or so, and how many more."""
    if len(names) <= most:
        return listing(names)
    return f"{', '.join(names[:most])} and {len(names) - most} more"


def these_logs(number: int) -> str:
    """How a sentence calls so many logs: `this log`, `these logs`."""
    return "this log" if number == 1 else "these logs"


def sentence(text: str) -> str:
    """The text as a sentence: first letter large, a full stop where no mark ends it."""
    text = text.strip()
    if not text:
        return ""
    return text[0].upper() + text[1:] + ("" if text[-1] in ".!?…:" else ".")


def visible(text: str) -> str:
    """Text from a stranger's file, safe to show: control and direction codes appear escaped.

    A channel named with terminal codes must not move the cursor, recolour the screen or turn the
    reading direction; a line break in a name must not look like a line of ours.
    """
    if text.isprintable():  # none of the classes of `_HIDDEN` is
        return text
    return "".join(_shown(c) for c in text)


def bare(text: str) -> str:
    """Text from a stranger's file for another program to read: control and direction codes are
    left out, a line break is a space.
    """
    if text.isprintable():
        return text
    lines = "".join(" " if c in _BREAKS else c for c in text)
    return "".join(c for c in lines if not is_hidden(c)).strip()


def as_cell(text: str) -> str:
    """Text for a cell of delimited text, with ' before what a spreadsheet takes for a formula."""
    return f"'{text}" if text.lstrip().startswith(_FORMULA) else text


def is_hidden(character: str) -> bool:
    """Whether it is a control, direction or other code that shows as nothing; joiners are none."""
    return character not in _JOINERS and unicodedata.category(character) in _HIDDEN


def _shown(character: str) -> str:
    if not is_hidden(character):
        return character
    code = ord(character)
    if code < 0x100:
        return f"\\x{code:02x}"
    return f"\\u{code:04x}" if code < 0x10000 else f"\\U{code:08x}"


def _signed(value: float, places: int, plus: bool) -> str:
    text = f"{abs(value):.{places}f}"
    if not float(text):
        return text
    if value < 0:
        return MINUS + text
    return "+" + text if plus else text
