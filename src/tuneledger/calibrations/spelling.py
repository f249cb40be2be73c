"""Misspelt keys of a sheet, read as what they were surely meant to be.

So that what stands below `[[spark.corection]]` is checked as well, and everything is told at once.
"""

from collections.abc import Callable, Mapping
from types import MappingProxyType
from typing import Any

from tuneledger.calibrations.nearest import nearest
from tuneledger.calibrations.translate import PARTS, known_keys
from tuneledger.calibrations.tree import Spot, join
from tuneledger.errors import Fault
from tuneledger.record import record

_SURE = 0.75  # how alike a key must be to a known one
_CONDITIONS = ("when", "any", "since", "until")
More = Mapping[str, tuple[str, ...]]
_NONE: More = MappingProxyType({})


@record
class Spelling:
    """A tree with its misspelt keys put right.

    slips: path of a renamed part → its path as it is written
    """

    value: Any
    slips: Mapping[str, str]

    @property
    def faults(self) -> list[Fault]:
        """One for each slip, at its place in `value`."""
        return [
            Fault("unknown key", place=path, do=f'Did you mean "{path.rpartition(".")[2]}"?')
            for path in self.slips
        ]

    def written(self, place: str | None) -> str | None:
        """A place of `value` as the file has it."""
        if place is None:
            return None
        held = [path for path in self.slips if place == path or _below(place, path)]
        longest = max(held, key=len, default=None)
        return place if longest is None else self.slips[longest] + place[len(longest) :]


def spelling(
    value: Any, more: More = _NONE, leave: Callable[[Any], bool] | None = None
) -> Spelling:
    """The tree of a sheet as it was meant.

    more: further keys that are known in a part, by the key under which it stands
    leave: parts that are no sheet's
    """
    slips: dict[str, str] = {}

    def walked(part: Any, key: str, path: str, told: str) -> Any:
        if isinstance(part, list | tuple):
            items = (walked(item, key, join(path, n), join(told, n)) for n, item in enumerate(part))
            return type(part)(items)
        if not isinstance(part, Mapping) or (leave is not None and leave(part)):
            return part
        if key not in PARTS and key not in _CONDITIONS:
            return part
        known = (*known_keys(Spot(part), key), *more.get(key, ()))
        meant = _meant(part, known, condition=key in _CONDITIONS)
        out: dict[str, Any] = {}
        for name, item in part.items():
            right = meant[name] if name in meant else str(name)
            at, there = join(path, right), join(told, name)
            if right != name:
                slips[at] = there
            out[right] = walked(item, right, at, there)
        return out

    return Spelling(walked(value, "", "", ""), slips)


def _meant(part: Mapping[str, Any], known: tuple[str, ...], *, condition: bool) -> dict[str, str]:
    """Misspelt key → the known one that it was meant to be, each of those once."""
    from tuneledger.calibrations.rules.readings import KEYS_OF_CONDITIONS

    choices = KEYS_OF_CONDITIONS if condition else known
    out: dict[str, str] = {}
    for name in part:
        if name in known:
            continue
        near = nearest(str(name), choices, _SURE)
        if near is not None and near not in part and near not in out.values():
            out[name] = near
    return out


def _below(place: str, path: str) -> bool:
    return place.startswith((f"{path}.", f"{path}["))
