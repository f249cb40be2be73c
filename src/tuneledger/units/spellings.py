"""How units are written, in many languages and with what an encoding left of them."""

import unicodedata
from functools import cache
from pathlib import Path

from tuneledger.units.table import UNITS, Unit

_DATA = Path(__file__).with_name("spellings.txt")
_BRACKETS = {"[": "]", "(": ")", "{": "}", "<": ">"}
_ALIKE = str.maketrans({"−": "-", "˚": "°", "º": "°", "\ufffd": "°"})
_DROPPED = str.maketrans("", "", " \t._·∙⋅^Â")


def plain(text: str) -> str:
    """A label without what does not matter: outer brackets, blanks, dots, look-alikes."""
    text = unicodedata.normalize("NFKC", text.replace("º", "°").replace("˚", "°")).strip()
    while len(text) > 1 and _BRACKETS.get(text[0]) == text[-1]:
        text = text[1:-1].strip()
    return text.translate(_ALIKE).translate(_DROPPED)


@cache
def spellings() -> tuple[dict[str, Unit], dict[str, Unit]]:
    """(exact spellings, spellings without regard to case); the first row of the table wins."""
    written = _read()
    exact: dict[str, Unit] = {plain(unit.symbol): unit for unit in UNITS}
    for unit in UNITS:
        for text in written.get(unit.symbol, ()):
            exact.setdefault(plain(text), unit)
    folded: dict[str, Unit] = {}
    for text, unit in exact.items():
        folded.setdefault(text.casefold(), unit)
    return exact, folded


@cache
def qualifiers(of: str) -> frozenset[str]:
    """Words that say from where a unit is counted: of `deg`, `absolute` or `gauge`."""
    return frozenset(word.casefold() for word in _read()[f"{of} from"])


@cache
def _read() -> dict[str, list[str]]:
    """The data file: `symbol = spelling spelling …`, an indented line goes on with the last."""
    out: dict[str, list[str]] = {}
    words: list[str] = []
    for line in _DATA.read_text(encoding="utf-8").splitlines():
        if not line or line.startswith("#"):
            continue
        symbol, new, rest = line.partition(" =")
        if new and not line.startswith(" "):
            words = out.setdefault("" if symbol == "(none)" else symbol, [])
        words.extend((rest if new else line).split())
    return out
