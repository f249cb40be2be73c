"""The raw tree of a sheet, walked together with its paths, however broken it is.

A `Spot` never raises: what is not there is a spot whose value is None, so a rule can ask for
`correction["weight"]["axes"]` of a sheet that has none of them.
"""

from collections.abc import Callable, Iterator, Mapping
from datetime import date, datetime, time
from math import isfinite
from typing import Any

from tuneledger.errors import Fault
from tuneledger.wording import MINUS, visible


def join(path: str, step: str | int) -> str:
    """The path of a part below a path: `spark` and `map` give `spark.map`; a number is `[2]`."""
    if isinstance(step, int):
        return f"{path}[{step}]"
    return f"{path}.{step}" if path else step


class Spot:
    """A value of a closed tree (see `closed`) and its path; an absent value is None."""

    __slots__ = ("path", "value")

    def __init__(self, value: Any, path: str = "") -> None:
        self.value, self.path = value, path

    def __getitem__(self, key: str) -> "Spot":
        inside = self.value.get(key) if isinstance(self.value, dict) else None
        return Spot(inside, f"{self.path}.{key}" if self.path else key)

    def __contains__(self, key: str) -> bool:
        return isinstance(self.value, dict) and self.value.get(key) is not None

    def __iter__(self) -> Iterator["Spot"]:
        """The items of a list; nothing where it is not one."""
        if isinstance(self.value, tuple):
            for index, item in enumerate(self.value):
                yield Spot(item, join(self.path, index))

    @property
    def names(self) -> tuple[str, ...]:
        """The keys of a table of keys; nothing where it is not one."""
        return tuple(self.value) if isinstance(self.value, dict) else ()

    @property
    def is_part(self) -> bool:
        """Whether it is a table of keys, be it an empty one."""
        return isinstance(self.value, dict)

    @property
    def count(self) -> int | None:
        """How many items a list has; None where it is not one."""
        return len(self.value) if isinstance(self.value, tuple) else None

    @property
    def number(self) -> float | None:
        """A finite number; None where it is something else."""
        if isinstance(self.value, bool) or not isinstance(self.value, int | float):
            return None
        try:
            number = float(self.value)
        except OverflowError:
            return None
        return number if isfinite(number) else None

    @property
    def text(self) -> str | None:
        return self.value if isinstance(self.value, str) else None

    def fault(self, found: str, expected: str | None = None, do: str | None = None) -> Fault:
        """A fault at this place."""
        return Fault(found=found, place=self.path or None, expected=expected, do=do)


def closed(value: Any) -> Any:
    """A tree of dicts and tuples, as the strict model wants it; lists become tuples."""
    if isinstance(value, list | tuple):
        return tuple([closed(item) for item in value])
    if isinstance(value, Mapping):
        return {key: closed(item) for key, item in value.items()}
    return value


def depth(value: Any) -> int:
    """How deeply tables and lists are nested; found without recursion."""
    deepest, heap = 0, [(value, 0)]
    while heap:
        part, level = heap.pop()
        if isinstance(part, list | tuple):
            heap.extend((item, level + 1) for item in part)
        elif isinstance(part, Mapping):
            heap.extend((item, level + 1) for item in part.values())
        deepest = max(deepest, level)
    return deepest


def plain(number: float) -> str:
    """A number as a person writes it: 60 for 60.0, with a true minus."""
    text = repr(number)
    return text.removesuffix(".0").replace("-", MINUS)


def shown(value: Any) -> str:
    """What stands somewhere in a sheet, in few words."""
    say = next((say for kind, say in _SHOWN if isinstance(value, kind)), None)
    return say(value) if say else "nothing" if value is None else type(value).__name__


def quoted(text: str) -> str:
    """Text from a sheet in quotes, short and with nothing in it that moves the cursor."""
    return f'"{visible(text if len(text) <= 60 else text[:57] + "…")}"'


def _number_shown(value: int | float) -> str:
    huge = isinstance(value, int) and abs(value) >= 10**20  # repr of it may be refused
    return "a number too large to use" if huge else plain(value)


_SHOWN: tuple[tuple[Any, Callable[[Any], str]], ...] = (
    (bool, lambda value: "true" if value else "false"),
    (int | float, _number_shown),
    (str, quoted),
    (tuple | list, lambda value: f"a list of {len(value)}" if value else "an empty list"),
    (Mapping, lambda value: "a table of keys" if value else "an empty table"),
    (datetime | date, lambda value: f"the date {value}"),
    (time, lambda value: f"the time {value}"),
)
