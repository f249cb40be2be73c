"""Which column is which, by what people call it."""

import re
import unicodedata
from functools import cache
from importlib.resources import files
from typing import Literal

Side = Literal["commanded", "observed"]

_TOKEN = re.compile(r"[^\W\d_]+")
_LETTERS_ONLY = re.compile(r"[\u3040-\u30ff\u3400-\u9fff]")


def weight(name: str, side: Side) -> int:
    """How strongly a column's name says that it holds the commanded, or the observed, advance."""
    tokens = [_plain(token) for token in _TOKEN.findall(name)]
    return max(
        (strong for strong, word in _words()[side] if any(_fits(word, t) for t in tokens)),
        default=0,
    )


def _fits(word: str, token: str) -> bool:
    if _LETTERS_ONLY.search(word):
        return word.removesuffix("*") in token
    return token.startswith(word[:-1]) if word.endswith("*") else token == word


@cache
def _words() -> dict[Side, list[tuple[int, str]]]:
    out: dict[Side, list[tuple[int, str]]] = {"commanded": [], "observed": []}
    text = files(__package__).joinpath("words.txt").read_text(encoding="utf-8")
    for line in text.splitlines():
        if line and not line.startswith("#"):
            head, _, words = line.partition(":")
            name, strong = head.split()
            side: Side = "commanded" if name == "commanded" else "observed"
            out[side] += [(int(strong), _plain(word)) for word in words.split()]
    return out


def _plain(text: str) -> str:
    """Without case and accents, so that `mesure` is `mesuré`."""
    apart = unicodedata.normalize("NFD", unicodedata.normalize("NFKC", text).casefold())
    return "".join(c for c in apart if not 0x300 <= ord(c) < 0x370)
