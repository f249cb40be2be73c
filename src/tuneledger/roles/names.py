"""Names taken apart: from `Kuehlmitteltemp`, `EngSpd` or `吸気温` to the concepts that they hold.

A name becomes pieces; each piece has readings, each a set of concepts (`map` may be a manifold
pressure or a map). The vocabulary is data: one file per language in `vocabulary/`.
"""

import re
import unicodedata
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path

Reading = frozenset[str]

_FOLDER = Path(__file__).with_name("vocabulary")
_NOT_LANGUAGES = {"terse.txt"}
_ABBREVIATIONS = "sae.txt"
_IGNORED = "_"
_TARGET_LETTER = "s"  # `lam_s`, `n_s`: setpoint, Soll
_SPLIT = re.compile(r"[^\w+]+|_+")
_HUMPS = re.compile(r"(?<=[a-zà-ÿ])(?=[A-ZÀ-Ý])|(?<=[A-ZÀ-Ý])(?=[A-ZÀ-Ý][a-zà-ÿ])")
_DIGITS = re.compile(r"(?<=\D)(?=\d)|(?<=\d)(?=\D)")
_IDEOGRAPHS = re.compile(r"[\u3040-\u30ff\u3400-\u9fff]")
_UMLAUTS = str.maketrans(
    {"ä": "ae", "ö": "oe", "ü": "ue", "ß": "ss", "å": "a", "ø": "o", "æ": "ae"}
)
_PLAIN = str.maketrans({"ß": "ss", "ø": "o", "æ": "ae", "ł": "l", "đ": "d", "œ": "oe"})
_CORNER = frozenset([frozenset(["corner"])])  # `FL temp` is a corner, `flPrs` is not
_HEAD = re.compile(r"[^\W_]+[\s_./:|-]+(?=\w)")
_VOWELS = str.maketrans("", "", "aeiouy")
_TWICE = re.compile(r"(.)\1")
_SHORTEST_STEM = 4
_LONGEST_ENDING = 4
_LONGEST_RUN = 5
_LONGEST_SHORT, _LONGEST_OF_TWO = 5, 4


@dataclass(frozen=True, slots=True)
class Piece:
    """A part of a name and what it may mean; no reading where the vocabulary has none.

    guessed: taken for an abbreviation of a word that it may not be
    """

    text: str
    readings: frozenset[Reading] = frozenset()
    guessed: bool = False


@dataclass(frozen=True)
class Vocabulary:
    """words: folded word → readings; heads: first letters → words that may stand in compounds.

    runs: words that a name may write as several tokens (`EQ_RAT`, `air fuel ratio`) → readings
    """

    words: dict[str, frozenset[Reading]]
    heads: dict[str, tuple[str, ...]]
    runs: dict[str, frozenset[Reading]]


def folded(text: str) -> tuple[str, ...]:
    """The spellings of a word without accents: `kühl` is `kuehl` and `kuhl`."""
    if text.isascii():
        return (text.lower(),)
    low = unicodedata.normalize("NFKC", text).casefold()
    spellings = {_bare(low.translate(_UMLAUTS)), _bare(low)}
    return tuple(sorted(spellings))


def _bare(text: str) -> str:
    decomposed = unicodedata.normalize("NFD", text)
    kept = "".join(c for c in decomposed if not "\u0300" <= c <= "\u036f")
    return unicodedata.normalize("NFC", kept).translate(_PLAIN)


@cache
def vocabulary() -> Vocabulary:
    """All languages at once: a car's names mix them."""
    words: dict[str, set[Reading]] = {}
    runs: dict[str, set[Reading]] = {}
    for file in sorted(_FOLDER.glob("*.txt")):
        if file.name not in _NOT_LANGUAGES:
            for concepts, word in _lines(file):
                for spelling in folded(word.replace("_", "")):
                    reading = frozenset(concepts.split("+"))
                    words.setdefault(spelling, set()).add(reading)
                    if "_" in word or file.name == _ABBREVIATIONS:
                        runs.setdefault(spelling, set()).add(reading)
    heads: dict[str, list[str]] = {}
    for word in words:
        heads.setdefault(word[:2], []).append(word)
    return Vocabulary(
        {word: frozenset(readings) for word, readings in words.items()},
        {head: tuple(sorted(ws, key=len, reverse=True)) for head, ws in heads.items()},
        {run: frozenset(readings) for run, readings in runs.items()},
    )


@cache
def _skeletons() -> dict[str, frozenset[Reading]]:
    """Consonants of a word → readings, for names that leave the vowels out (`clnt`, `thrttl`)."""
    out: dict[str, frozenset[Reading]] = {}
    for word, readings in vocabulary().words.items():
        if word.isascii() and len(word) > _SHORTEST_STEM:
            skeleton = _consonants(word)
            out[skeleton] = out.get(skeleton, frozenset()) | readings
    return out


def _lines(file: Path) -> list[tuple[str, str]]:
    out: list[tuple[str, str]] = []
    for line in file.read_text(encoding="utf-8").splitlines():
        if line and not line.startswith("#"):
            concepts, _, words = line.partition(":")
            out.extend((concepts.strip(), word) for word in words.split())
    return out


def _consonants(word: str) -> str:
    """`throttle` and `thrttl` both are `thrtl`."""
    return _TWICE.sub(r"\1", word[0] + word[1:].translate(_VOWELS))


def without_prefix(names: Sequence[str]) -> list[str]:
    """The names without a first word that half of them share: a logger's, or its module's."""
    heads = Counter(m.group() for name in names if (m := _HEAD.match(name)))
    shared = {head for head, times in heads.items() if times >= max(4, len(names) / 2)}
    return [
        name[m.end() :] if (m := _HEAD.match(name)) and m.group() in shared else name
        for name in names
    ]


def pieces(name: str) -> tuple[Piece, ...]:
    """A name's pieces in order, without those that say nothing (`of`, `value`)."""
    tokens = _tokens(name)
    found: list[Piece] = []
    at = 0
    while at < len(tokens):
        if at > 0 and at == len(tokens) - 1 and tokens[at].casefold() == _TARGET_LETTER:
            found.append(Piece(tokens[at], frozenset([frozenset(["target"])])))
            break
        length, some = _longest_run(tokens, at)
        found.extend(some)
        at += length
    ignored = frozenset([frozenset([_IGNORED])])
    return tuple(p for p in found if p.readings != ignored)


def _tokens(name: str) -> list[str]:
    text = unicodedata.normalize("NFKC", name)
    parts = [p for part in _SPLIT.split(text) for p in _HUMPS.split(part)]
    return [p for part in parts for p in _DIGITS.split(part) if p]


def _longest_run(tokens: list[str], at: int) -> tuple[int, list[Piece]]:
    """How many tokens the next pieces take: several make one word (`EQ_RAT`, `air fuel ratio`)."""
    known = vocabulary()
    for length in range(min(_LONGEST_RUN, len(tokens) - at), 1, -1):
        joined = "".join(tokens[at : at + length])
        for spelling in folded(joined):
            if spelling in known.runs and len(spelling) > 2:
                return length, [Piece(joined, known.runs[spelling])]
    some = _one(tokens[at])
    if not some[0].readings or (at == 0 and len(tokens) > 1 and some[0].readings == _CORNER):
        guess = _guess(tokens[at]) if len(tokens) > 1 else Piece(tokens[at])
        if not guess.readings and len(tokens[at]) > 2:
            bare = _skeletons().get(_consonants(folded(tokens[at])[0]), frozenset())
            guess = Piece(tokens[at], bare)
        return 1, [Piece(guess.text, guess.readings | some[0].readings, guess.guessed)]
    return 1, list(some)


@cache
def _one(token: str) -> tuple[Piece, ...]:
    """A single token: a number, a known word, a known word's stem, a compound, or unknown."""
    if token.isdigit():
        which = "first" if int(token) <= 1 else "second"
        return (Piece(token, frozenset([frozenset([which])])),)
    spellings = folded(token)
    for spelling in spellings:
        if spelling in vocabulary().words:
            return (Piece(token, vocabulary().words[spelling]),)
    for spelling in spellings:
        parts = _compound(spelling)
        if parts:
            return tuple(Piece(part, vocabulary().words[part]) for part in parts)
    for spelling in spellings:
        known = _stem(spelling)
        if known:
            return (Piece(token, known),)
    return (Piece(token),)


@cache
def _guess(token: str) -> Piece:
    """An unknown part of a longer name as an English word with letters left out (`inlTmp`)."""
    short = folded(token)[0]
    if not short.isascii() or not short.isalpha() or not 2 <= len(short) <= _LONGEST_SHORT:
        return Piece(token)
    fitting = [word for word in _english() if _left_out(short, word)]
    if not fitting:
        return Piece(token)
    ranks = {word: (not word.startswith(short), len(word)) for word in fitting}
    nearest = [word for word in fitting if ranks[word] == min(ranks.values())]
    readings = frozenset[Reading]().union(*(vocabulary().words[word] for word in nearest))
    return Piece(token, readings, guessed=True)


def _left_out(short: str, word: str) -> bool:
    """Whether letters of a word were left out: two letters only where all its consonants stand."""
    if len(short) == 2:
        return len(word) <= _LONGEST_OF_TWO and _consonants(word) == short
    rest = iter(word)
    return len(word) <= 3 * len(short) and word[0] == short[0] and all(c in rest for c in short)


@cache
def _english() -> tuple[str, ...]:
    words = {word for _, word in _lines(_FOLDER / "english.txt") if word.isalpha()}
    return tuple(sorted(w for w in words if len(w) >= 3 and w.isascii()))


def _stem(token: str) -> frozenset[Reading] | None:
    """A known word with another ending (`obrotów`), or one cut short (`temperat`)."""
    if len(token) < _SHORTEST_STEM or _IDEOGRAPHS.search(token):
        return None
    for word in vocabulary().heads.get(token[:2], ()):
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
            return vocabulary().words[word]
    return None


def _compound(token: str) -> list[str] | None:
    """Known words that cover a token, nearly all of it, or None. Fewest and longest words win."""
    dense = bool(_IDEOGRAPHS.search(token))
    shortest = 1 if dense else 2
    # best[i]: (letters not covered, words, chain) for the first i letters
    best: list[tuple[int, int, tuple[str, ...]]] = [(0, 0, ())]
    best += [(len(token) + 1, 0, ())] * len(token)
    for i in range(len(token)):
        lost, count, chain = best[i]
        skipped = (lost + 1, count, chain)
        best[i + 1] = min(best[i + 1], skipped, key=_cost)
        for word in vocabulary().heads.get(token[i : i + 2], ()) + (
            vocabulary().heads.get(token[i], ()) if dense else ()
        ):
            if len(word) >= shortest and token.startswith(word, i):
                end = i + len(word)
                best[end] = min(best[end], (lost, count + 1, (*chain, word)), key=_cost)
    lost, _, chain = best[-1]
    short = not dense and any(len(word) < _SHORTEST_STEM for word in chain)
    allowed = 1 if short else max(1, len(token) // 4)
    long_enough = dense or any(len(word) >= _SHORTEST_STEM for word in chain)
    return list(chain) if chain and long_enough and lost <= allowed else None


def _cost(state: tuple[int, int, tuple[str, ...]]) -> tuple[int, int]:
    return state[0] * 2 + state[1], state[0]
