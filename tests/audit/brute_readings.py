"""What the parts of a sheet read, at which numbers something changes, and when a condition holds.

Written from CONTRACT section 2 alone, for `brute`; shares no code with the package's evaluation.
"""

from typing import Any

import numpy as np

from tuneledger.signals import SIGNALS
from tuneledger.units import conversion

A_LITTLE = 1e-6
WIDE = 1e5  # what a channel without limits can be, either way
LONG = 1e6  # seconds

Raw = dict[str, Any]


def unit_of(name: str, unit: str | None) -> tuple[float, float]:
    own = SIGNALS[name].unit if name in SIGNALS else None
    if own is None or unit in (None, own):
        return 1.0, 0.0
    found = conversion(own, unit or own)
    assert found is not None
    return found


def walk(part: Any) -> list[Raw]:
    """Every table of keys in a part, at any depth."""
    if isinstance(part, list):
        return [found for item in part for found in walk(item)]
    if isinstance(part, dict):
        return [part, *(found for item in part.values() for found in walk(item))]
    return []


def marks_of(part: Raw) -> list[float]:
    out = list(part.get("at", [])) + list(part.get("between", []))
    out += [part[key] for key in ("above", "below", "release") if key in part]
    if "is" in part and part["is"] != "active":
        out.append(0.5 if isinstance(part["is"], str) else part["is"])
    return out


def reads_something(part: Raw) -> bool:
    return "signal" in part or "channel" in part


def span_of(name: str) -> tuple[float, float]:
    if name in SIGNALS:
        return SIGNALS[name].lowest, SIGNALS[name].highest
    return -WIDE, WIDE


def whose(name: str) -> str:
    """The quantity of a choice; what it was some seconds ago can be no more than it can be."""
    return name.removeprefix("then ").rpartition(" ")[0] if name.startswith("then ") else name


def reading(part: Raw) -> str:
    return str(
        {
            k: part[k]
            for k in ("signal", "channel", "unit", "minus", "over", "rate", "since")
            if k in part
        }
    )


def reading_span(part: Raw) -> tuple[float, float]:
    if "since" in part:
        return 0.0, LONG
    name = part.get("signal") or part["channel"]
    low, high = span_of(name)
    if "minus" in part:
        other = span_of(part["minus"])
        return low - other[1], high - other[0]
    if "rate" in part:
        return (low - high) / part["rate"], (high - low) / part["rate"]
    if "over" in part:
        return 0.0, WIDE
    scale, offset = unit_of(name, part.get("unit"))
    return low * scale + offset, high * scale + offset


def holds(c: Raw, seen: Any) -> Any:
    if "above" in c:
        return seen > c["above"]
    if "below" in c:
        return seen < c["below"]
    if "between" in c:
        return (seen >= c["between"][0]) & (seen <= c["between"][1])
    if c["is"] == "on":
        return seen >= 0.5
    if c["is"] == "off":
        return seen < 0.5
    return np.abs(seen - c["is"]) < A_LITTLE / 10


def left_behind(parts: list[Raw], span: tuple[float, float]) -> set[tuple[float, ...]]:
    """Joint states of hystereses after any three jumps, starting with all false."""
    marks = [v for p in parts for v in marks_of(p)]
    places = [v + d for v in marks for d in (-A_LITTLE, 0.0, A_LITTLE)]
    places = [v for v in [*places, *span] if span[0] <= v <= span[1]]
    states = {tuple(0.0 for _ in parts)}
    for _ in range(3 + len(parts)):
        for state in sorted(states):
            for place in places:
                new = []
                for p, was in zip(parts, state, strict=True):
                    passed = place < p["release"] if "above" in p else place > p["release"]
                    new.append(float(holds(p, place) or (was > 0 and not passed)))
                states.add(tuple(new))
    return states


def key_of(part: Raw, *without: str) -> str:
    return str({k: part[k] for k in sorted(part) if k not in without})


def bare(part: Raw) -> str:
    return key_of(part, "held", "linger")
