"""Which encoding text that is no UTF-8 was written in, told by the letters that it then has.

Bytes beyond ASCII are letters of some language. Read in the right encoding they are all letters of
one alphabet; read in another they are letters of many, or signs in the middle of a word.
"""

import re
from functools import cache
from pathlib import Path

from tuneledger.record import record

_FILE = Path(__file__).with_name("alphabets.txt")
_WESTERN = "cp1252"
_MOST_BYTES = 6000
# A better reading must cover this much, and leave so much less uncovered than the Western one.
_COVERED, _LESS = 0.75, 0.7
_FEWEST_LETTERS = 3  # of a language that writes whole words beyond ASCII
_WORD = re.compile(r"[^\W\d_]+")
_RUN = re.compile(r"[^\x00-\x7f]{2,}")
# What no language writes: a sign or a capital inside a word, a final letter that is not at the
# end, a Thai vowel above nothing.
_ODD = re.compile(
    r"(?<=[^\W\d_])[^\w\s\x00-\x7f\u0e30-\u0e4e](?=[^\W\d_])"
    r"|(?<=[a-zà-ÿα-ωά-ώа-яё])[À-ÞΑ-ΩА-ЯЁ](?=[a-zà-ÿα-ωά-ώа-яё])"
    r"|ς(?=\w)"
    r"|(?<![ก-ฮ\u0e31\u0e34-\u0e3a\u0e47-\u0e4e])[\u0e31\u0e34-\u0e3a\u0e47-\u0e4e]"
)


@record
class Alphabet:
    """The letters of a language beyond ASCII; whole: it writes whole words with them."""

    encodings: tuple[str, ...]
    letters: frozenset[str]
    whole: bool


@cache
def alphabets() -> tuple[Alphabet, ...]:
    """All of them, in the order in which equals are preferred."""
    out = []
    for block in _FILE.read_text(encoding="utf-8").split("\n[")[1:]:
        head, _, letters = block.partition("]\n")
        own = frozenset(letters.replace("\n", ""))
        encodings = tuple(head.partition(":")[2].split())
        out.append(Alphabet(encodings, own, min(own) > "ʯ"))
    return tuple(out)


def told_encoding(head: bytes) -> str:
    """The codec of text that is no UTF-8; "cp1252" where nothing speaks for another."""
    sample = _telling(head)
    western = _best_of(sample, _WESTERN)
    best, encoding = western, _WESTERN
    for other in dict.fromkeys(e for a in alphabets() for e in a.encodings if e != _WESTERN):
        found = _best_of(sample, other)
        if found > best and found >= max(_COVERED, 1.0 - _LESS * (1.0 - western)):
            best, encoding = found, other
    return encoding


def _telling(head: bytes) -> bytes:
    """The first lines that hold bytes beyond ASCII, each once."""
    lines = dict.fromkeys(line for line in head.splitlines() if not line.isascii())
    return b"\n".join(lines)[:_MOST_BYTES].rsplit(b",", 1)[0] if lines else b""


def _best_of(sample: bytes, encoding: str) -> float:
    """The share of the letters beyond ASCII that one alphabet of the encoding covers."""
    try:
        text = sample.decode(encoding)
    except UnicodeDecodeError:
        return 0.0
    odd = sum(1 for _ in _ODD.finditer(text))
    own = [a for a in alphabets() if encoding in a.encodings]
    return max(_covered(text, alphabet, odd) for alphabet in own)


def _covered(text: str, alphabet: Alphabet, odd: int) -> float:
    # A single letter among figures is a sign of another encoding: `°` is one in Thai.
    words = (_RUN if alphabet.whole else _WORD).findall(text)
    letters = [c for word in words for c in word.casefold() if not c.isascii()]
    if len(letters) < (_FEWEST_LETTERS if alphabet.whole else 1):
        return 0.0
    return sum(c in alphabet.letters for c in letters) / (len(letters) + odd)
