"""What the model's library says about a raw sheet, in this project's paths and plain words.

Its places hold marks for the kind of a condition, and its sentences speak of types; both go. A
fault keeps what was found there and what the sheet wants there.
"""

from collections.abc import Callable, Iterator, Mapping
from typing import Any

from pydantic import ValidationError

from tuneledger.calibrations import model
from tuneledger.calibrations.nearest import did_you_mean, nearest
from tuneledger.calibrations.rules.readings import KEYS_OF_CONDITIONS
from tuneledger.calibrations.tree import Spot, join, plain, quoted, shown
from tuneledger.errors import Fault
from tuneledger.wording import listing

PARTS: dict[str, type[model.Part]] = {
    "": model.Calibration,
    "engine": model.Engine,
    "spark": model.Spark,
    "map": model.Table,
    "weight": model.Table,
    "limits": model.Limits,
    "correction": model.Correction,
    "axes": model.Axis,
    "ramp": model.Ramp,
    "audit": model.AuditWishes,
    "band": model.Band,
    "accepted": model.Accepted,
}
"""The part that stands under a key; a condition (under when, any, since, until) is found by its
own keys."""

TEXT = "text in quotes"
NUMBER = "a number"
WANTED = {
    "format": f'"{model.FORMAT}"',
    "revision": "the name of this revision, text in quotes",
    "spark": "[spark.map] with the map, and the corrections",
    "map": "the table that the engine is meant to get",
    "id": "a name of its own for the correction, text in quotes",
    "at": "the points of the axis, a rising list of numbers",
    "is": 'the word "on" or "off", or a number',
    "saved": "a date, or a date with a time, without quotes",
    "ramp": "degrees per second above 0, or { down = …, up = … }",
    "until": 'a condition in braces, or "power off"',
    "range": "two numbers, the lower one first",
    "between": "two numbers, the lower one first",
}
"""What a key wants, where the type alone would not say it."""


def faults(error: ValidationError, root: Spot) -> Iterator[Fault]:
    """One fault for each place and thing that the model refuses."""
    told: set[str] = set()
    for item in error.errors(include_url=False):
        say = SAYS.get(item["type"], _generic)
        fault = say(_Refusal(item, root))
        if fault is not None and (fault.place or "") not in told:
            told.add(fault.place or "")
            yield fault


class _Refusal:
    """One thing that was refused: where, under which key, inside which part, and the context."""

    def __init__(self, item: Mapping[str, Any], root: Spot) -> None:
        self.spot, self.key, self.within = _place(item["loc"], root)
        self.context: Mapping[str, Any] = item.get("ctx") or {}

    @property
    def wanted(self) -> str | None:
        """What the key wants, where it is the key's own value that is refused."""
        if self.spot.path.endswith("]"):
            return None
        if self.key == "is" and "correction" in self.within:
            return 'the word "active"'
        return WANTED.get(self.key)

    def fault(self, expected: str) -> Fault:
        return self.spot.fault(shown(self.spot.value), self.wanted or expected)


def _place(loc: tuple[int | str, ...], root: Spot) -> tuple[Spot, str, Spot]:
    """The spot that a place of the library means, its last key, and the part that holds it."""
    spot, key, within = root, "", root
    for index, step in enumerate(loc):
        if isinstance(step, int):
            items = spot.value if isinstance(spot.value, tuple) else ()
            item = items[step] if step < len(items) else None
            spot = Spot(item, join(spot.path, step))
        elif _is_key(step, spot, last=index == len(loc) - 1):
            spot, key, within = spot[step], step, spot
    return spot, key, within


def _is_key(step: str, spot: Spot, *, last: bool) -> bool:
    """A key, and not the mark of a kind; a key that is missing can only stand last."""
    if step in model.TAGS:
        return step in spot
    return step in spot.names or (last and spot.is_part)


def known_keys(spot: Spot, key: str) -> tuple[str, ...]:
    """The keys that a part may have, as a sheet writes them."""
    part = PARTS.get(key) or _kind_of_condition(spot)
    return tuple(field.alias or name for name, field in part.model_fields.items())


def _kind_of_condition(spot: Spot) -> type[model.Part]:
    if "any" in spot:
        return model.AnyOf
    return model.CorrectionActive if "correction" in spot else model.Comparison


def _missing(what: _Refusal) -> Fault:
    return what.spot.fault("missing", what.wanted)


def _unknown_key(what: _Refusal) -> Fault:
    part = _last_key(what.within.path)
    known = known_keys(what.within, part)
    near = nearest(what.key, known if part in PARTS else KEYS_OF_CONDITIONS)
    do = f'Did you mean "{near}"?' if near else f"Known here are {listing(known)}."
    return what.spot.fault("unknown key", do=do)


def _last_key(path: str) -> str:
    """`correction` of `spark.correction[2]`, "" of the whole."""
    return path.rpartition(".")[2].partition("[")[0]


def _wrong_part(what: _Refusal) -> Fault:
    keys = known_keys(what.spot, what.key)
    return what.fault(f"keys such as {listing(keys[:3], 'or')}")


def _wrong_word(what: _Refusal) -> Fault:
    """A word that is not one of a closed list."""
    text, path = what.spot.text, what.spot.path
    words = CHOICES.get(what.key)
    if words is None or text is None:
        return what.fault(str(what.context.get("expected", "another word")).replace("'", '"'))
    expected = f"one of {listing(words, 'or')}"
    near = did_you_mean(text, words)
    return Fault(quoted(text), place=path, expected=expected, do=near if "mean" in near else None)


CHOICES: dict[str, tuple[str, ...]] = {"reason": model.REASONS, "effect": model.EFFECTS}


def _too_few(what: _Refusal) -> Fault | None:
    least = int(what.context["min_length"])
    if (what.spot.count or 0) >= least:
        return None  # the library counts only what was right in itself
    return what.fault(f"at least {least}")


def _bound(word: str, name: str) -> Callable[[_Refusal], Fault]:
    return lambda what: what.fault(f"{word} {plain(what.context[name])}")


def _expects(phrase: str) -> Callable[[_Refusal], Fault]:
    return lambda what: what.fault(phrase)


def _generic(what: _Refusal) -> Fault:
    return what.fault("something else")


SAYS: dict[str, Callable[[_Refusal], Fault | None]] = {
    "missing": _missing,
    "extra_forbidden": _unknown_key,
    "model_type": _wrong_part,
    "union_tag_invalid": _expects("a condition in braces"),
    "literal_error": _wrong_word,
    "float_type": _expects(NUMBER),
    "finite_number": _expects("a finite number"),
    "int_type": _expects("a whole number"),
    "int_parsing_size": _expects("a whole number"),
    "bool_type": _expects("true or false, without quotes"),
    "string_type": _expects(TEXT),
    "string_unicode": _expects(TEXT),
    "string_too_short": _expects("some text"),
    "datetime_type": _expects(WANTED["saved"]),
    "date_type": _expects(WANTED["saved"]),
    "tuple_type": _expects("a list in square brackets"),
    "too_short": _too_few,
    "too_long": lambda what: what.fault(f"at most {what.context['max_length']}"),
    "greater_than": _bound("a number above", "gt"),
    "greater_than_equal": _bound("a number of at least", "ge"),
    "less_than_equal": _bound("a number of at most", "le"),
}
