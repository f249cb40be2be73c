"""Names taken apart: from `Kuehlmitteltemp`, `EngSpd` or `吸気温` to the concepts that they hold.

A name becomes pieces; each piece has readings, each a set of concepts (`map` may be a manifold
pressure or a map).
"""

import re
import unicodedata
from collections import Counter
from collections.abc import Sequence
from functools import cache

from tuneledger.logs.delimited.sources import channel_parts
from tuneledger.record import record
from tuneledger.roles.lexicon import (
    IGNORED,
    Reading,
    consonants,
    cut_skeleton,
    english,
    folded,
    lexicon,
    skeletons,
)

_TARGET_LETTER = "s"  # `lam_s`, `n_s`: setpoint, Soll
# Letters that stand for a quantity beside a word for the thing: `Oil T`, `p Saugrohr`, `n Motor`.
_LETTERS = {
    "t": frozenset({frozenset({"temperature"}), frozenset({"target"})}),
    "p": frozenset({frozenset({"pressure"}), frozenset({"position"})}),
    "n": frozenset({frozenset({"rotation"})}),
    "u": frozenset({frozenset({"voltage"})}),
    "v": frozenset({frozenset({"velocity"}), frozenset({"voltage"})}),
}
# Vowel signs of scripts that write them above and below are parts of a word, not its end.
_SIGNS = "\u0300-\u036f\u0591-\u05c7\u064b-\u065f\u0900-\u0903\u093a-\u094f\u0e31-\u0e4e"
_SPLIT = re.compile(rf"[^\w+{_SIGNS}]+|_+")
_HUMPS = re.compile(r"(?<=[a-zà-ÿ])(?=[A-ZÀ-Ý])|(?<=[A-ZÀ-Ý])(?=[A-ZÀ-Ý][a-zà-ÿ])")
_DIGITS = re.compile(r"(?<=\D)(?=\d)|(?<=\d)(?=\D)")
# Scripts that set no spaces between words: Thai, kana, Chinese, Hangul.
_DENSE = (("\u0e00", "\u0e7f"), ("\u3040", "\u30ff"), ("\u3400", "\u9fff"), ("\uac00", "\ud7af"))
_CORNER = frozenset([frozenset(["corner"])])  # `FL temp` is a corner, `flPrs` is not
_HEAD = re.compile(r"^[^\W_]+[\s_./:|-]+(?=\w)")
_TAIL = re.compile(r"(?<=\w)[\s_./:|\\#([-]+[^\W_]+[)\]]?$")
_MODULE_CHANNELS = 3
_MODULES = frozenset({"engine", "module", "processor", "first", "raw"})
_SHORTEST_STEM = 4
_LONGEST_ENDING = 4
_LONGEST_RUN = 5
_LETTERED = 4  # letters of a code that is the beginning of a word and a letter
_LONGEST_SHORT, _LONGEST_OF_TWO = 5, 4
# Letters of a name that are read: far beyond any logger's, so that a damaged header costs nothing.
_LONGEST_NAME = 500


@record
class Piece:
    """A part of a name and what it may mean; no reading where the vocabulary has none.

    guessed: taken for an abbreviation of a word that it may not be
    """

    text: str
    readings: frozenset[Reading] = frozenset()
    guessed: bool = False


@record
class Name:
    """A channel's name, without what many names of its log share before and behind it.

    around: those words. They may speak for a signal (`Engine.Speed`), but hardly against one:
            a logger's or a module's word stands with everything.
    """

    own: str
    around: tuple[str, ...] = ()


def in_company(names: Sequence[str]) -> list[Name]:
    """The names of one log, each told apart from the words that half of them share."""
    found = [Name(name) for name, _ in channel_parts(names)]
    for pattern in (_HEAD, _HEAD, _TAIL):
        words = [pattern.search(name.own) for name in found]
        often = Counter(m.group() for m in words if m)
        least = max(4, len(names) / 2)
        shared = {
            word for word, times in often.items() if times >= least or _is_module(word, times)
        }
        found = [
            Name(_without(name.own, m), (*name.around, m.group()))
            if m and m.group() in shared
            else name
            for name, m in zip(found, words, strict=True)
        ]
    return found


def _without(name: str, part: re.Match[str]) -> str:
    return name[: part.start()] + name[part.end() :]


def _is_module(word: str, times: int) -> bool:
    """A word before a point, slash or colon that leads to several channels and says little."""
    if times < _MODULE_CHANNELS or word[-1] not in "./:|":
        return False
    said = {c for p in pieces(word) for reading in p.readings for c in reading}
    return said <= _MODULES


def pieces(name: str) -> tuple[Piece, ...]:
    """A name's pieces in order, without those that say nothing (`of`, `value`).

    Of a name without end (a damaged header) only the first part is read.
    """
    tokens = _tokens(name[:_LONGEST_NAME])
    found: list[Piece] = []
    at = 0
    while at < len(tokens):
        if at > 0 and at == len(tokens) - 1 and tokens[at].casefold() == _TARGET_LETTER:
            found.append(Piece(tokens[at], frozenset([frozenset(["target"])])))
            break
        length, some = _longest_run(tokens, at)
        found.extend(some)
        at += length
    ignored = frozenset([IGNORED])
    if len(found) > 1 and len(found[-1].readings) > 1:
        # what says nothing stands before something: at the end, `des` is `desired`
        last = found[-1]
        found[-1] = Piece(last.text, last.readings - {ignored}, last.guessed)
    return tuple(p for p in found if p.readings != frozenset([ignored]))


def _tokens(name: str) -> list[str]:
    text = unicodedata.normalize("NFKC", name)
    parts = [p for part in _SPLIT.split(text) for p in _HUMPS.split(part)]
    return [p for part in parts for p in _DIGITS.split(part) if p]


def _longest_run(tokens: list[str], at: int) -> tuple[int, list[Piece]]:
    """How many tokens the next pieces take: several make one word (`EQ_RAT`, `air fuel ratio`)."""
    known = lexicon()
    for length in range(min(_LONGEST_RUN, len(tokens) - at), 1, -1):
        joined = "".join(tokens[at : at + length])
        for spelling in folded(joined):
            if spelling in known.runs and len(spelling) > 2:
                return length, [Piece(joined, known.runs[spelling])]
    some = _one(tokens[at])
    letter = _LETTERS.get(tokens[at].casefold()) if len(tokens) > 1 else None
    if letter:
        return 1, [Piece(tokens[at], letter | some[0].readings, guessed=True)]
    if not some[0].readings:
        short = _short_for(tokens[at], alone=len(tokens) == 1)
        return 1, [short] if short.readings else list(_lettered(tokens[at])) or [short]
    if at == 0 and len(tokens) > 1 and some[0].readings == _CORNER:
        short = _short_for(tokens[at], alone=False)
        return 1, [Piece(short.text, short.readings | _CORNER, short.guessed)]
    return 1, list(some)


def _short_for(token: str, *, alone: bool) -> Piece:
    """What an unknown token may be short for; alone in a name, only by the consonants of a word."""
    guess = Piece(token) if alone else _guess(token)
    short = folded(token)[0]
    if guess.readings or len(short) <= 2:
        return guess
    skeleton = consonants(short)
    bare = skeletons(short[0]).get(skeleton) if len(skeleton) > 2 else None
    return Piece(token, bare) if bare else Piece(token, cut_skeleton(short), guessed=True)


@cache
def _one(token: str) -> tuple[Piece, ...]:
    """A single token: a number, a known word, a known word's stem, a compound, or unknown."""
    if token.isdigit():
        which = "first" if int(token) <= 1 else "second"
        return (Piece(token, frozenset([frozenset([which])])),)
    spellings = folded(token)
    for spelling in spellings:
        if spelling in lexicon().words:
            return (Piece(token, lexicon().words[spelling]),)
    for spelling in spellings:
        parts = _compound(spelling)
        if parts:
            return tuple(Piece(part, lexicon().words[part]) for part in parts)
    for spelling in spellings:
        known = _stem(spelling)
        if known:
            return (Piece(token, known),)
    return (Piece(token),)


def _lettered(token: str) -> tuple[Piece, ...]:
    """A word or its beginning with the letter of a quantity behind it: `OILT`, `COOT`."""
    thing, letter = token[:-1].lower(), token[-1].lower()
    if letter not in _LETTERS or not thing.isascii() or not thing.isalpha():
        return ()
    known = lexicon().words.get(thing, frozenset()) if len(thing) > 2 else frozenset()
    if not known - {frozenset([IGNORED])} and token.isupper() and len(token) == _LETTERED:
        known = _guess(thing).readings
    if not known - {frozenset([IGNORED])}:
        return ()
    return (Piece(token[:-1], known, guessed=True), Piece(token[-1], _LETTERS[letter], True))


@cache
def _guess(token: str) -> Piece:
    """An unknown part of a longer name as an English word with letters left out (`inlTmp`)."""
    short = folded(token)[0]
    if not short.isascii() or not short.isalpha() or not 2 <= len(short) <= _LONGEST_SHORT:
        return Piece(token)
    fitting = [word for word in english(short[0]) if _left_out(short, word)]
    if not fitting:
        return Piece(token)
    ranks = {word: (not word.startswith(short), len(word)) for word in fitting}
    nearest = [word for word in fitting if ranks[word] == min(ranks.values())]
    readings = frozenset[Reading]().union(*(lexicon().words[word] for word in nearest))
    return Piece(token, readings, guessed=True)


def _left_out(short: str, word: str) -> bool:
    """Whether letters of a word were left out: two letters only where all its consonants stand."""
    if len(short) == 2:
        return len(word) <= _LONGEST_OF_TWO and consonants(word) == short
    rest = iter(word)
    return len(word) <= 3 * len(short) and word[0] == short[0] and all(c in rest for c in short)


def _stem(token: str) -> frozenset[Reading] | None:
    """A known word with another ending (`obrotów`), or one cut short (`temperat`)."""
    if len(token) < _SHORTEST_STEM or _dense(token):
        return None
    for word in lexicon().heads.get(token[:2], ()):
        longer = word.startswith(token) and len(token) >= min(len(word) - 1, 5)
        ending = len(token) - len(word)
        shorter = len(word) > _SHORTEST_STEM and 0 < ending <= 2 and token.startswith(word)
        similar = (
            len(word) > 5
            and len(token) > 5
            and abs(ending) <= _LONGEST_ENDING
            and token[: max(5, min(len(word), len(token)) - 2)]
            == word[: max(5, min(len(word), len(token)) - 2)]
        )
        if longer or shorter or similar:
            return lexicon().words[word]
    return None


def _dense(token: str) -> bool:
    """Whether a token holds a letter of a script that sets no spaces between words."""
    if token.isascii():
        return False
    return any(first <= letter <= last for letter in token for first, last in _DENSE)


def _compound(token: str) -> list[str] | None:
    """Known words that cover a token, nearly all of it, or None. Fewest and longest words win."""
    dense = _dense(token)
    # best[i]: (letters not covered, words, chain) for the first i letters
    best: list[tuple[int, int, tuple[str, ...]]] = [(0, 0, ())]
    best += [(len(token) + 1, 0, ())] * len(token)
    for i in range(len(token)):
        lost, count, chain = best[i]
        skipped = (lost + 1, count, chain)
        best[i + 1] = min(best[i + 1], skipped, key=_cost)
        for word in lexicon().heads.get(token[i : i + 2], ()) + (
            lexicon().heads.get(token[i], ()) if dense else ()
        ):
            end = i + len(word)
            if not token.startswith(word, i):
                continue
            # a short word is one only at an end: `öl` in `Öltemp`, not `app` in `Klappen`
            if dense or len(word) >= _SHORTEST_STEM or i == 0 or end == len(token):
                best[end] = min(best[end], (lost, count + 1, (*chain, word)), key=_cost)
    lost, _, chain = best[-1]
    short = not dense and any(len(word) < _SHORTEST_STEM for word in chain)
    allowed = len(chain) - 1 if short else min(max(1, len(token) // 4), 2 * len(chain))
    long_enough = dense or any(len(word) >= _SHORTEST_STEM for word in chain)
    return list(chain) if chain and long_enough and lost <= allowed else None


def _cost(state: tuple[int, int, tuple[str, ...]]) -> tuple[int, int]:
    return state[0] * 2 + state[1], state[0]
