"""What a logger calls its channels: languages, abbreviations, habits of writing, pure nonsense."""

import re
import unicodedata
from collections.abc import Callable
from functools import cache
from importlib.resources import files

import numpy as np

LANGUAGES = (
    "plain",
    "formal",
    "german",
    "french",
    "spanish",
    "italian",
    "swedish",
    "codes",
)
MADE = ("terse", "dotted", "joined", "nonsense")
VOCABULARIES = LANGUAGES + MADE

_ONSETS = tuple("b br d dr f fl g gl k kl l m n p pr s sk t tr v z".split())  # noqa: SIM905
_RIMES = tuple("a ab ag ek el em ib il in og ol om or ub uf ul un".split())  # noqa: SIM905


@cache
def words() -> dict[str, tuple[str, ...]]:
    """Key → its names in the order of LANGUAGES."""
    text = files("tuneledger.car").joinpath("words.txt").read_text(encoding="utf-8")
    rows = [line.split(" | ") for line in text.splitlines() if line and not line.startswith("#")]
    return {row[0]: tuple(name.strip() for name in row[1:]) for row in rows}


def names(vocabulary: str, keys: list[str], rng: np.random.Generator) -> dict[str, str]:
    """Key → channel name, all different, in one logger's habit of writing."""
    habit = _habit(vocabulary, rng)
    out: dict[str, str] = {}
    taken: set[str] = set()
    for key in keys:
        base = name = habit(key)
        number = 2
        while name.casefold() in taken:
            name, number = f"{base}{number}", number + 1
        taken.add(name.casefold())
        out[key] = name
    return out


def _habit(vocabulary: str, rng: np.random.Generator) -> Callable[[str], str]:
    if vocabulary in LANGUAGES:
        column = LANGUAGES.index(vocabulary)
        write = _writing(vocabulary, rng)
        return lambda key: write(words()[key][column])
    plain, formal = LANGUAGES.index("plain"), LANGUAGES.index("formal")
    if vocabulary == "terse":
        return lambda key: _skeleton(words()[key][plain])
    if vocabulary == "dotted":
        prefix = str(rng.choice(["ecu.", "eng/", "rt_", "DL."]))
        joint = str(rng.choice([".", "_", "-"]))
        return lambda key: prefix + joint.join(_ascii(words()[key][plain]).lower().split())
    if vocabulary == "joined":
        return lambda key: "".join(w.capitalize() for w in _ascii(words()[key][formal]).split())
    return lambda key: _syllables(rng)


def _writing(vocabulary: str, rng: np.random.Generator) -> Callable[[str], str]:
    """Now and then a logger drops accents, writes all in capitals, or joins with underscores."""
    habits: list[Callable[[str], str]] = []
    if vocabulary != "codes":
        if rng.random() < 0.3:
            habits.append(_ascii)
        if rng.random() < 0.15:
            habits.append(str.upper)
        if rng.random() < 0.15:
            habits.append(lambda text: text.replace(" ", "_"))
    elif rng.random() < 0.3:
        habits.append(str.lower)

    def write(text: str) -> str:
        for habit in habits:
            text = habit(text)
        return text

    return write


def _ascii(text: str) -> str:
    """Without accents: ö becomes o, as loggers with a small character set have it."""
    text = text.replace("ß", "ss")
    return unicodedata.normalize("NFKD", text).encode("ascii", "ignore").decode("ascii")


def _skeleton(text: str) -> str:
    """Consonants of each word: "Inlet temp" becomes `inltTmp`."""
    parts = re.findall(r"[A-Za-z]+|\d+", text)
    short = [p[:1] + re.sub("[aeiou]", "", p[1:].lower()) for p in parts]
    return "".join(s[:4].lower() if i == 0 else s[:4].capitalize() for i, s in enumerate(short))


def _syllables(rng: np.random.Generator) -> str:
    picks = [str(rng.choice(_ONSETS)) + str(rng.choice(_RIMES)) for _ in range(2)]
    return "".join(picks).capitalize()
