"""The witness of words: how strongly a channel's name says that it is a signal, or is not."""

from collections.abc import Mapping, Sequence
from functools import cache
from math import exp, log
from pathlib import Path

from tuneledger.record import record
from tuneledger.roles.lexicon import TERSE
from tuneledger.roles.names import Piece, in_company, pieces

_MEANINGS = Path(__file__).with_name("meanings.txt")
_COUNTS = frozenset({"first", "second"})
_ELSE = -3.5  # a name that is understood and says something else
# An unknown word beside a thing and its quantity says little; beside one of them alone, much.
_UNKNOWN_BESIDE_ONE, _UNKNOWN_BESIDE_TWO, _UNKNOWN_LETTER = 2.0, 0.7, 1.2
_SLIGHT = 0.3
_GUESSED, _GUESSED_ELSE = 1.0, 4.0
# An advance of another kind: what would be best, what is allowed, a part of it, another angle.
_OTHER_KINDS = frozenset(
    {"best", "minimum", "maximum", "limit", "threshold", "error", "correction", "retard", "trim",
     "dwell", "cam", "injector"}
)  # fmt: skip
# What tells one advance from the other, in a name or as a terse one (`adv_f`, not `adv`).
_WHICH = frozenset({"map", "target", "final", "actual", "cylinder", "best", "minimum", "maximum"})
_SAYS_WHICH = 3.0
# Corrections of something else than the advance.
_ANOTHER_THING = frozenset(
    {
        "lambda",
        "fuel",
        "injector",
        "boost",
        "throttle",
        "idle",
        "air",
        "temperature",
        "torque",
        "cam",
    }
)
_SLIGHT_CONCEPTS = {"relative", "raw", "first", "second", "content", "sensor"}
# how often a misleading name happens to say a given signal
_CHANCE = exp(-4.0)


@record
class Meaning:
    """What a name must hold to mean a signal; see `meanings.txt`."""

    ways: tuple[tuple[float, frozenset[str]], ...]
    harmless: frozenset[str]
    against: Mapping[str, float]


@record
class Said:
    """What one name says of one signal: a weight (log-odds) and the words that it rests on."""

    weight: float
    words: tuple[str, ...] = ()


@cache
def meanings() -> tuple[dict[str, Meaning], dict[str, float]]:
    """(signal → meaning, concept → penalty where a name holds it beside the meaning)."""
    blocks: dict[str, list[str]] = {}
    lines: list[str] = []
    for line in _MEANINGS.read_text(encoding="utf-8").splitlines():
        if line.startswith("["):
            lines = blocks.setdefault(line.strip("[]"), [])
        elif line and not line.startswith("#"):
            lines.append(line)
    penalties = {
        concept: float(row[0])
        for row in map(str.split, blocks.pop("penalties"))
        for concept in row[1:]
    }
    return {signal: _meaning(rows) for signal, rows in blocks.items()}, penalties


def _meaning(rows: list[str]) -> Meaning:
    ways, harmless, against = [], frozenset[str](), {}
    for first, *rest in map(str.split, rows):
        if first == "harmless":
            harmless = frozenset(rest)
        elif first == "against":
            against.update(dict.fromkeys(rest[1:], float(rest[0])))
        else:
            ways.append((float(first), frozenset(rest)))
    return Meaning(tuple(ways), harmless, against)


@cache
def _terse() -> dict[str, tuple[tuple[str, float], ...]]:
    out: dict[str, list[tuple[str, float]]] = {}
    for line in TERSE.read_text(encoding="utf-8").splitlines():
        if line and not line.startswith("#"):
            head, _, names = line.partition(":")
            signal, _, weight = head.rpartition(" ")
            for name in names.split():
                out.setdefault(name.replace("_", ""), []).append((signal, float(weight)))
    return {name: tuple(said) for name, said in out.items()}


@cache
def read_name(name: str, around: tuple[str, ...] = ()) -> dict[str, Said] | None:
    """What a name says of each signal; None where no part of it is understood.

    around: words that many names of the log share: they speak for a signal, but not against one
    """
    found = pieces(name)
    terse = dict(_terse().get("".join(c for c in name.casefold() if c.isalnum()), ()))
    known = sum(len(piece.text) for piece in found if _tells(piece))
    if not known and not terse:
        return None
    letters = sum(len(piece.text) for piece in found)
    otherwise = Said(_ELSE * (known / letters if known else 0.5))
    out = {}
    shared = tuple(piece for word in around for piece in pieces(word) if piece.readings)
    concepts = {c for piece in found + shared for reading in piece.readings for c in reading}
    for signal, meaning in meanings()[0].items():
        ways = [way for way in meaning.ways if way[1] <= concepts]
        said = _best(found, shared, ways, meaning, otherwise) if ways else otherwise
        if signal in terse and terse[signal] > said.weight:
            said = Said(terse[signal], (name,))
        out[signal] = said
    return out


def read_names(names: Sequence[str]) -> None:
    """Read names ahead of `identify`, which then finds them read: while a log is on its way."""
    for name in in_company(names):
        read_name(name.own, name.around)


def _tells(piece: Piece) -> bool:
    """Whether a piece says anything of what the channel is: a number alone does not."""
    return any(not reading <= _COUNTS for reading in piece.readings)


def _best(
    found: tuple[Piece, ...],
    shared: tuple[Piece, ...],
    ways: Sequence[tuple[float, frozenset[str]]],
    meaning: Meaning,
    best: Said,
) -> Said:
    """The way of meaning the signal that the name speaks for most, else `best`.

    ways: those of the meaning whose concepts all stand in the name or around it
    """
    for weight, wanted in ways:
        allowed = wanted | meaning.harmless
        held: set[str] = set()
        against = 0.0
        words = []
        for piece in found + shared:
            fitting = [r for r in piece.readings if r <= allowed]
            if fitting:
                held.update(*fitting)
                words.append(piece.text)
                against += _GUESSED if piece.guessed else 0.0
            elif piece not in shared:
                against += _penalty(piece, allowed, meaning, alone=len(wanted) == 1)
        if wanted <= held:
            slight = _SLIGHT * len((held - wanted) & _SLIGHT_CONCEPTS)
            if weight - against - slight > best.weight:
                best = Said(weight - against - slight, tuple(words))
    return best


def _penalty(piece: Piece, allowed: frozenset[str], meaning: Meaning, *, alone: bool) -> float:
    """What a piece that does not belong counts against: by its mildest reading."""
    if not piece.readings:
        if len(piece.text) == 1:
            return _UNKNOWN_LETTER
        return _UNKNOWN_BESIDE_ONE if alone else _UNKNOWN_BESIDE_TWO
    penalties = meanings()[1]
    some = min(
        max(meaning.against.get(c, penalties.get(c, 3.0)) for c in r - allowed)
        for r in piece.readings
    )
    return min(some, _GUESSED_ELSE) if piece.guessed else some


@cache
def says_which_advance(name: str, around: tuple[str, ...] = ()) -> bool:
    """Whether the name of an advance says which one: the asked-for, the used, one cylinder's."""
    plain = "".join(c for c in name.casefold() if c.isalnum())
    if any(weight >= _SAYS_WHICH for _, weight in _terse().get(plain, ())):
        return True
    held = (piece for word in (name, *around) for piece in pieces(word))
    return any(reading & _WHICH for piece in held for reading in piece.readings)


@cache
def says_part(name: str, around: tuple[str, ...] = ()) -> bool:
    """Whether a name says that a channel is taken from an advance or added to it."""
    found = [piece for word in (name, *around) for piece in pieces(word)]
    held = {c for piece in found for reading in piece.readings for c in reading}
    return bool(held & {"retard", "correction"}) and not held & _ANOTHER_THING


@cache
def says_other_kind(name: str) -> bool:
    """Whether a name says that an advance is of another kind: the best one, a part, a cam's."""
    return any(p.readings and all(r & _OTHER_KINDS for r in p.readings) for p in pieces(name))


@cache
def says_cylinder(name: str) -> bool:
    """Whether a name says that a channel is one cylinder's."""
    return any("cylinder" in reading for piece in pieces(name) for reading in piece.readings)


@cache
def says_twin(name: str) -> float:
    """How strongly (log-odds) a name says that it is like another without being it.

    One of several alike (a cylinder, a second bank), or an advance of another kind: the best one,
    the least that is allowed, a correction.
    """
    if says_other_kind(name):
        return 3.0
    found = pieces(name)
    if not any(_tells(piece) for piece in found):
        return 0.0  # a number behind what nobody understands counts channels
    concepts = [{c for r in piece.readings for c in r} for piece in found]
    if any(c & {"cylinder", "corner"} for c in concepts):
        return 3.0
    return 2.0 if any(c & {"bank", "second", "place"} for c in concepts) else 0.0


def trusted(weight: float, trust: float) -> float:
    """A weight where names can be trusted only in part (1 always, 0 never)."""
    rest = (1.0 - trust) * _CHANCE
    if weight >= 0:
        return log((trust + rest) / (trust * exp(-weight) + rest))
    return log((trust * exp(weight) + rest) / (trust + rest))
