"""A correction said as a rule on a log: in the log's own channel names and units."""

from collections.abc import Sequence
from typing import Any

from tuneledger.car.dress import Column
from tuneledger.signals import SIGNALS
from tuneledger.units import conversion

NUMBERS = ("above", "below", "release", "is")


def rule_of(correction: dict[str, Any], columns: Sequence[Column]) -> dict[str, Any] | None:
    """The rule, or None where the contract's rule form cannot say it or a channel is missing."""
    try:
        rule: dict[str, Any] = {
            "when": [_condition(c, columns) for c in correction.get("when", ())]
        }
        axes = correction.get("axes", [])
        if not axes:
            rule["amount_deg"] = correction["amount"]
        elif len(axes) == 1:
            along = _reading(axes[0], columns)
            rule["along"] = along | {"deg": list(correction["values"])}
        else:
            return None
    except KeyError:
        return None
    if "ramp" in correction:
        rule["ramp"] = correction["ramp"]
    return rule


def reads(correction: dict[str, Any], columns: Sequence[Column]) -> list[str]:
    """The names of the channels that a correction reads, as far as they are logged."""
    names: list[str] = []

    def walk(part: Any) -> None:
        if isinstance(part, list):
            for item in part:
                walk(item)
        elif isinstance(part, dict):
            for word in ("signal", "channel", "minus", "over"):
                column = _find(str(part.get(word)), columns)
                if column is not None and column.name not in names:
                    names.append(column.name)
            for item in part.values():
                walk(item)

    walk({k: v for k, v in correction.items() if k in ("axes", "when", "weight", "until")})
    return sorted(names)


def _condition(c: dict[str, Any], columns: Sequence[Column]) -> dict[str, Any]:
    if "any" in c:
        return {"any": [_condition(one, columns) for one in c["any"]]}
    if "since" in c:
        return c | {"since": _condition(c["since"], columns)}
    return _reading(c, columns)


def _reading(c: dict[str, Any], columns: Sequence[Column]) -> dict[str, Any]:
    """The reading with its numbers in the log's unit. KeyError where it is not logged."""
    name = str(c["signal"] if "signal" in c else c["channel"])
    column = _find(name, columns)
    if column is None or "minus" in c or "over" in c:
        raise KeyError(name)
    scale, offset = 1.0, 0.0
    if c.get("unit") and c["unit"] != column.unit:
        scale, offset = conversion(c["unit"], column.unit) or (1.0, 0.0)
    if "rate" in c:
        offset = 0.0
    out: dict[str, Any] = {"channel": column.name}
    for word, value in c.items():
        if word in ("signal", "channel", "unit"):
            continue
        if word in NUMBERS and not isinstance(value, str):
            out[word] = round(scale * value + offset, 4)
        elif word in ("at", "between"):
            out[word] = [round(scale * x + offset, 4) for x in value]
        else:
            out[word] = value
    return out


def _find(name: str, columns: Sequence[Column]) -> Column | None:
    """By signal where there is such a signal, else by the channel's name."""
    if name in SIGNALS:
        return next((c for c in columns if c.key == name), None)
    return next((c for c in columns if c.name == name), None)
