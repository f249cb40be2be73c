"""What can be chosen freely of a sheet: for each quantity and memory the numbers worth trying.

Written from CONTRACT section 2 alone, for `brute`; shares no code with the package's evaluation.
"""

import numpy as np

from tests.audit.brute_readings import (
    A_LITTLE,
    LONG,
    Raw,
    bare,
    key_of,
    marks_of,
    reads_something,
    span_of,
    unit_of,
    walk,
    whose,
)
from tuneledger.units import conversion

NEVER = np.inf
Choices = dict[str, list[float]]


def choices_of(enabled: list[Raw], fixed: dict[str, float], more: Choices) -> Choices:
    """Every quantity and every memory of these corrections, each with what it may be.

    fixed: quantities that the cell of the map holds, in their own units
    more:  further numbers to try, by quantity
    """
    parts = walk(enabled)
    choices = {name: [] for name in _quantities(parts) if name not in fixed}
    for part in filter(reads_something, parts):
        _marks(part, fixed, choices)
    for name, values in choices.items():
        low, high = span_of(whose(name))
        marks = [*values, *more.get(name, [])]
        near = [v + d for v in marks for d in (-A_LITTLE, 0.0, A_LITTLE)]
        choices[name] = sorted({min(max(v, low), high) for v in [*near, low, high]})
    for part in parts:
        _memory(part, choices)
    for index, correction in enumerate(enabled):
        if correction.get("until") is not None:
            choices[f"latch {index}"] = [0.0, 1.0]
        if "values" not in correction and "amount" not in correction:
            choices[f"own {index}"] = [0.0, 1.0, 2.0]
    return choices


def _quantities(parts: list[Raw]) -> list[str]:
    found = []
    for part in filter(reads_something, parts):
        found += [part.get("signal") or part["channel"], part.get("minus"), part.get("over")]
    return [name for name in found if name]


def _marks(part: Raw, fixed: dict[str, float], choices: Choices) -> None:
    """Values at which a reading meets one of its marks, the others at all of their own."""
    name = part.get("signal") or part["channel"]
    second = part.get("minus") or part.get("over")
    scale, offset = unit_of(name, part.get("unit"))
    for mark in marks_of(part):
        if "rate" in part:
            then = f"then {name} {part['rate']}"
            low, high = span_of(name)
            ends = [fixed[name]] if name in fixed else [low, high]
            step = mark / scale * part["rate"]
            choices.setdefault(then, [low, high]).extend([e - step for e in ends])
            if name in choices:
                choices[name].extend([low + step, high + step])
        elif second is None:
            if name in choices:
                choices[name].append((mark - offset) / scale)
        else:
            _pair(part, (name, second), mark, fixed, choices)


def _pair(
    part: Raw, names: tuple[str, str], mark: float, fixed: dict[str, float], choices: Choices
) -> None:
    name, second = names
    assert "unit" not in part or unit_of(name, part["unit"]) == (1.0, 0.0)
    one = [fixed[name]] if name in fixed else list(span_of(name))
    other = [fixed[second]] if second in fixed else list(span_of(second))
    if name in choices:
        choices[name] += [b + mark if "minus" in part else b * mark for b in other]
    if second in choices:
        choices[second] += [
            a - mark if "minus" in part else a / mark for a in one if "minus" in part or mark
        ]


def _memory(part: Raw, choices: Choices) -> None:
    if "held" in part:
        choices.setdefault(f"held {key_of(part, 'held', 'linger')}", [0.0, LONG]).extend(
            [part["held"], part["held"] - A_LITTLE]
        )
    if "linger" in part:
        choices.setdefault(f"linger {key_of(part, 'linger')}", [0.0, LONG]).extend(
            [part["linger"], part["linger"] - A_LITTLE]
        )
    if "release" in part:
        choices[f"was {bare(part)}"] = [0.0, 1.0]
    if "since" in part:
        factor = 1.0 if part.get("unit") in (None, "s") else conversion("s", part["unit"])[0]
        times = [m / factor + d for m in marks_of(part) for d in (-A_LITTLE, 0.0, A_LITTLE)]
        known = choices.setdefault(f"since {part['since']}", [NEVER, A_LITTLE, LONG])
        known.extend([t for t in times if t > 0])
