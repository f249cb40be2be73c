"""What a mapping names, looked up: numbers, switches and words, with every fault at its place."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from tuneledger.arrays import FloatArray
from tuneledger.calibrations.asam.a2l.conversions import clean
from tuneledger.calibrations.asam.parameter import NotRepresentedError, Parameter, Store
from tuneledger.calibrations.nearest import did_you_mean, nearest
from tuneledger.calibrations.tree import join, quoted
from tuneledger.errors import Fault
from tuneledger.record import record

NAMED = "characteristic"
_KEYS = (NAMED, "times", "on")


class WrongError(Exception):
    """A place of the mapping cannot be filled; what is wrong has been noted."""


@record
class Use:
    """Which parameter stands at a place now."""

    place: str
    name: str
    where: str


@dataclass(slots=True)
class Looking:
    """A store, what has been taken out of it, and everything that was wrong on the way."""

    store: Store
    faults: list[Fault] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)
    used: list[Use] = field(default_factory=list)
    unfilled: list[str] = field(default_factory=list)  # places whose numbers could not be had

    def parameter(self, named: Mapping[str, Any], place: str) -> Parameter:
        """The parameter that is named at a place. WrongError where none can be used."""
        for key in named:
            if key not in _KEYS:
                do = did_you_mean(str(key), _KEYS, "Known here are")
                self.wrong("unknown key", join(place, str(key)), do=do)
        name = named[NAMED]
        if not isinstance(name, str):
            raise self.wrong("a name is missing", join(place, NAMED), "text in quotes")
        try:
            found = self.store.get(name)
        except KeyError:
            near = nearest(name, self.store.names)
            do = f'Did you mean "{near}"?' if near else "`tuneledger sheet contents` lists them."
            raise self.wrong(f"no parameter {quoted(name)} in the files", place, do=do) from None
        except NotRepresentedError as problem:
            raise self.wrong(f"{quoted(name)} cannot be read: {problem}", place) from None
        self.note(*found.notes)
        self.used.append(Use(place, name, found.where))
        return found

    def numbers(self, named: Mapping[str, Any], place: str) -> tuple[Parameter, FloatArray]:
        """A parameter and its numbers, `times` what the mapping says."""
        found = self.parameter(named, place)
        if found.words is not None or found.text is not None:
            word = quoted((found.words or (found.text or "",))[0])
            raise self.wrong(f"{quoted(found.name)} is the word {word}", place, "a number")
        times = named.get("times", 1)
        if isinstance(times, bool) or not isinstance(times, int | float) or not abs(times) < 1e9:
            raise self.wrong("times is no number to multiply by", join(place, "times"))
        return found, found.values if times == 1 else clean(found.values * float(times))

    def switch(self, named: Mapping[str, Any], place: str) -> bool:
        """Whether a switch is on: by the word or number that `on` says, else 1 is on and 0 off."""
        found = self.parameter(named, place)
        if found.values.ndim or found.text is not None:
            raise self.wrong(f"{quoted(found.name)} is a {found.kind}", place, "a single switch")
        number, on = float(found.values), named.get("on")
        if found.words is not None:
            if not isinstance(on, str):
                do = f'If that means on, say on = "{found.words[0]}"; else the word that does.'
                raise self.wrong(f"{quoted(found.name)} is {quoted(found.words[0])}", place, do=do)
            return found.words[0].strip().casefold() == on.strip().casefold()
        if isinstance(on, int | float) and not isinstance(on, bool):
            return number == on
        if isinstance(on, str):
            found_words = f"{quoted(found.name)} is the number {number:g} in the file, no word"
            do = f"Say the number that means {quoted(on)}; or leave out on, where that is 1."
            raise self.wrong(found_words, join(place, "on"), "on = NUMBER", do)
        if on is not None or number not in (0.0, 1.0):
            raise self.wrong(f"{quoted(found.name)} is {number:g}", place, "0 or 1, or on = NUMBER")
        return number == 1.0

    def text(self, named: Mapping[str, Any], place: str) -> str:
        """A text, or the word of a switch."""
        found = self.parameter(named, place)
        if found.text is None and (found.words is None or found.values.ndim):
            raise self.wrong(f"{quoted(found.name)} is a {found.kind}", place, "a text")
        return found.text if found.text is not None else (found.words or ("",))[0]

    def note(self, *sentences: str) -> None:
        self.notes += [one for one in sentences if one not in self.notes]

    def wrong(
        self, found: str, place: str, expected: str | None = None, do: str | None = None
    ) -> WrongError:
        self.faults.append(Fault(found, place=place, expected=expected, do=do))
        return WrongError()


def is_named(value: Any) -> bool:
    """Whether a value of a mapping names a parameter."""
    return isinstance(value, dict) and NAMED in value
