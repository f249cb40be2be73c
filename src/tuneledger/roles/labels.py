"""The witness of labels: what the unit in the header says about the signal."""

from collections.abc import Sequence
from math import log

import numpy as np

from tuneledger.arrays import FloatArray
from tuneledger.roles.facts import Facts
from tuneledger.signals import SIGNALS
from tuneledger.units import parse_unit

# Share of logs that label a signal with a unit of that kind, where not its own unit's. Judgement.
_OTHER_KINDS: dict[str, dict[str, float]] = {
    "throttle position": {"voltage": 0.03, "angle": 0.06},
    "accelerator position": {"voltage": 0.03, "angle": 0.01},
    "engine load": {"mass": 0.03, "pressure": 0.01},
    "knock level": {"number": 0.3, "ratio": 0.1},
    "ethanol content": {"number": 0.05},
    "commanded lambda": {"ratio": 0.05},
    "measured lambda": {"ratio": 0.03, "voltage": 0.02},
    "gear": {"state": 0.02},
}
_NEED_NONE = 0.3  # share of a log's channels that need no label: switches, counters, lambda
_MISLABELLED = 0.004
_FORGOTTEN = 0.03
_FRACTION = 0.08  # a fraction of 1 has no unit


def weigh(facts: Sequence[Facts], signals: Sequence[str]) -> FloatArray:
    """Log-odds per channel and signal, against this log's own mix of labels."""
    kinds = [_kind(f) for f in facts]
    total = max(1, len(kinds))
    share = {kind: kinds.count(kind) / total for kind in set(kinds)}
    bare = share.get("number", 0.0)
    out = np.zeros((len(facts), len(signals)))
    for j, signal in enumerate(signals):
        expected = _expected(signal, bare)
        for kind, part in share.items():
            weight = log(expected.get(kind, _MISLABELLED) / part)
            out[[i for i, k in enumerate(kinds) if k == kind], j] = weight
    return out


def _kind(facts: Facts) -> str:
    return facts.unit.kind if facts.unit else "unreadable"


def _expected(signal: str, bare: float) -> dict[str, float]:
    """How likely each kind of label is on a channel that is this signal, in a log like this."""
    own = parse_unit(SIGNALS[signal].unit)
    kind = own.kind if own else "number"
    others = _OTHER_KINDS.get(signal, {})
    if kind == "number":
        return {"number": 0.9 - sum(others.values()), "unreadable": 0.02, **others}
    # a log with more bare channels than need be has left labels off, for anything alike
    usual = _FRACTION if kind == "ratio" else _FORGOTTEN
    forgotten = usual + (0.95 - usual) * max(0.0, bare - _NEED_NONE) / (1.0 - _NEED_NONE)
    labelled = 1.0 - forgotten - sum(others.values())
    return {kind: max(labelled, 0.05), "unreadable": 0.02, "number": forgotten, **others}


def says(facts: Facts, signal: str) -> str | None:
    """The label in plain words, where it speaks for the signal."""
    own = parse_unit(SIGNALS[signal].unit)
    if facts.unit and own and facts.unit.kind == own.kind and facts.unit.kind != "number":
        return f"its unit {facts.unit.symbol} is one of {own.kind}"
    return None
