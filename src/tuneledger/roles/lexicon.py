"""The lexicon: the words of all languages at once, since the names of one car mix them.

It is data, one file per language in `vocabulary/`: a line holds a concept, or several joined by
`+`, and the words that say so. A word of several parts is written with `_`.
"""

import re
import unicodedata
from collections.abc import Iterator
from functools import cache
from pathlib import Path

from tuneledger.record import record

Reading = frozenset[str]

FOLDER = Path(__file__).with_name("vocabulary")
TERSE = FOLDER / "terse.txt"  # whole names of signals, read by `words`
IGNORED = "_"
_ENGLISH = FOLDER / "english.txt"
_ABBREVIATIONS = FOLDER / "sae.txt"
_UMLAUTS = str.maketrans(
    {"ä": "ae", "ö": "oe", "ü": "ue", "ß": "ss", "å": "a", "ø": "o", "æ": "ae"}
)
_PLAIN = str.maketrans({"ß": "ss", "ø": "o", "æ": "ae", "ł": "l", "đ": "d", "œ": "oe", "ı": "i"})
_NOT_PLAIN = re.compile("[ßøæłđœı]")
# Traditional characters as simplified ones, so that one spelling of a Chinese word is enough.
_SIMPLIFIED = str.maketrans(
    "溫壓轉電動機氣進節門閥車輛輪檔擋實際標圖強點時間開關燃負載荷噴檢測絕對環備儀壞進歸風冷卻計數學習濾環變後廢增預爾設渦補償剎單氧滿離濃",
    "温压转电动机气进节门阀车辆轮档挡实际标图强点时间开关燃负载荷喷检测绝对环备仪坏进归风冷却计数学习滤环变后废增预尔设涡补偿刹单氧满离浓",
)
_FIRST_IDEOGRAPH = "\u4e00"
_WITH_UMLAUT = re.compile("[äöüßåøæ]")
_ACCENTS = re.compile("[\u0300-\u036f]+")
_VOWELS = str.maketrans("", "", "aeiouy")
_TWICE = re.compile(r"(.)\1")
_SHORTEST_SKELETON = 5
_SHORTEST_CUT, _MOST_CUT = 4, 2


@record
class Lexicon:
    """words: folded word → readings; heads: first two letters → words, the longest first

    runs: words that a name may write as several tokens (`EQ_RAT`, `air fuel ratio`) → readings
    """

    words: dict[str, frozenset[Reading]]
    heads: dict[str, tuple[str, ...]]
    runs: dict[str, frozenset[Reading]]


def folded(text: str) -> tuple[str, ...]:
    """The spellings of a text without accents: `kühl` is `kuehl` and `kuhl`."""
    if text.isascii():
        return (text.lower(),)
    low = unicodedata.normalize("NFKC", text).casefold()
    if max(low, default="") >= _FIRST_IDEOGRAPH:
        low = low.translate(_SIMPLIFIED)
    if not _WITH_UMLAUT.search(low):
        return (_bare(low),)
    german, plain = _bare(low.translate(_UMLAUTS)), _bare(low)
    return (plain,) if german == plain else (german, plain)


def _bare(text: str) -> str:
    # Searching is fast and translating is not: whole vocabularies come through here at every start.
    plain = unicodedata.normalize("NFC", _ACCENTS.sub("", unicodedata.normalize("NFD", text)))
    return plain.translate(_PLAIN) if _NOT_PLAIN.search(plain) else plain


@cache
def lexicon() -> Lexicon:
    """All vocabularies, read once."""
    words: dict[str, frozenset[Reading]] = {}
    runs: dict[str, frozenset[Reading]] = {}
    whole: set[str] = set()
    for file in sorted(FOLDER.glob("*.txt")):
        if file == TERSE:
            continue
        abbreviations = file == _ABBREVIATIONS
        for readings, spelled in _entries(file):
            for word in spelled:
                joined = word.replace("_", "")
                words[joined] = words[joined] | readings if joined in words else readings
                if joined == word:
                    whole.add(joined)
                if joined != word or abbreviations:
                    runs[joined] = runs[joined] | readings if joined in runs else readings
    heads: dict[str, list[str]] = {}
    # what says nothing (`of`, `lo`) or is several words is no part of a compound
    nothing = {frozenset([IGNORED])}
    telling = [word for word in words if word in whole and words[word] != nothing]
    for word in sorted(telling, key=len, reverse=True):
        heads.setdefault(word[:2], []).append(word)
    return Lexicon(words, {head: tuple(ws) for head, ws in heads.items()}, runs)


def _entries(file: Path) -> Iterator[tuple[frozenset[Reading], list[str]]]:
    """What each line of a file says, with its words in all their spellings."""
    done: set[str] = set()
    for text in folded(file.read_text(encoding="utf-8")):
        for line in text.splitlines():
            if line and not line.startswith("#") and line not in done:
                done.add(line)  # the same in another spelling
                concepts, _, words = line.partition(":")
                yield frozenset([frozenset(concepts.strip().split("+"))]), words.split()


@cache
def _english() -> dict[str, tuple[str, ...]]:
    words = {word for _, spelled in _entries(_ENGLISH) for word in spelled}
    out: dict[str, list[str]] = {}
    for word in sorted(words):
        if len(word) >= 3 and word.isalpha():
            out.setdefault(word[0], []).append(word)
    return {letter: tuple(found) for letter, found in out.items()}


def english(letter: str) -> tuple[str, ...]:
    """English words that begin with a letter, for abbreviations made from them."""
    return _english().get(letter, ())


@cache
def skeletons(letter: str) -> dict[str, frozenset[Reading]]:
    """Consonants of the words that begin with a letter → readings (`clnt` for `coolant`)."""
    out: dict[str, frozenset[Reading]] = {}
    for word, readings in lexicon().words.items():
        if word[0] == letter and len(word) >= _SHORTEST_SKELETON and word.isascii():
            skeleton = consonants(word)
            out[skeleton] = out.get(skeleton, frozenset()) | readings
    return out


@cache
def cut_skeleton(token: str) -> frozenset[Reading]:
    """What consonants cut short stand for (`ethn` for `ethanol`); nothing where words differ."""
    if len(token) < _SHORTEST_CUT or consonants(token) != token:
        return frozenset()
    meant = {
        readings
        for skeleton, readings in skeletons(token[0]).items()
        if skeleton.startswith(token) and len(skeleton) <= len(token) + _MOST_CUT
    }
    return meant.pop() if len(meant) == 1 else frozenset()


def consonants(word: str) -> str:
    """`throttle` and `thrttl` both are `thrtl`."""
    return _TWICE.sub(r"\1", word[0] + word[1:].translate(_VOWELS))
