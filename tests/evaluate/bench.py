"""Small sheets and logs for tests of `evaluate`, and what one correction makes of them."""

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np

from tests.inputs import TableInputs
from tuneledger.arrays import FloatArray
from tuneledger.calibrations.model import Calibration, Comparison, Condition, Correction
from tuneledger.evaluate.model import Contribution
from tuneledger.evaluate.replay import contributions

TENTHS = [round(0.1 * n, 1) for n in range(30)]
T, F, Q = True, False, None  # Q: not known


def sheet(*corrections: Mapping[str, Any], **spark: Any) -> Calibration:
    """A sheet whose map is 20 degrees everywhere, with corrections c1, c2, … of 1 degree."""
    named = [_with_defaults(n, c) for n, c in enumerate(corrections, 1)]
    whole = {"map": {"amount": 20.0}, "correction": named} | spark
    plain = {"format": "tuneledger-calibration/1", "revision": "A", "spark": whole}
    return Calibration.model_validate(_tuples(plain))


def log(times: Sequence[float] | None = None, **channels: Sequence[float | None]) -> TableInputs:
    """Channels without a unit, ten samples a second unless times are given."""
    samples = len(next(iter(channels.values()))) if channels else len(times or [])
    rows = TENTHS[:samples] if times is None else times
    return TableInputs(rows, channels={name: ("", column) for name, column in channels.items()})


def posted(correction: Mapping[str, Any], inputs: TableInputs) -> list[float | None]:
    """What one `add` posts by itself; None where it is not computable."""
    (part,) = contributions(sheet(correction), inputs)
    return shown(part.values)


def acts(inputs: TableInputs, **correction: Any) -> list[bool | None]:
    """Where a correction of 1 degree is active; None where that is not known."""
    (part,) = contributions(sheet(correction), inputs)
    return truth(part)


def when(condition: Mapping[str, Any], inputs: TableInputs) -> list[bool | None]:
    """Where one condition is true; None where that is not known."""
    return acts(inputs, when=[condition])


def truth(part: Contribution) -> list[bool | None]:
    assert part.known is not None
    return [bool(a) if k else None for a, k in zip(part.active, part.known, strict=True)]


def shown(values: FloatArray) -> list[float | None]:
    """Numbers as a person would write them: None where there is none, no float dust."""
    return [None if np.isnan(v) else round(float(v), 9) + 0.0 for v in values]


def comparison(**keys: Any) -> Comparison:
    return Comparison.model_validate(_tuples(keys))


def condition(keys: Mapping[str, Any]) -> Condition:
    """A condition of any kind, as a correction would hold it."""
    kept = Correction.model_validate(_tuples({"id": "c", "amount": 0.0, "when": [keys]}))
    return kept.when[0]


def _with_defaults(number: int, correction: Mapping[str, Any]) -> dict[str, Any]:
    numbers = {} if correction.keys() & {"amount", "values", "logged_as"} else {"amount": 1.0}
    return {"id": f"c{number}"} | numbers | dict(correction)


def _tuples(value: Any) -> Any:
    if isinstance(value, Mapping):
        return {key: _tuples(item) for key, item in value.items()}
    if isinstance(value, list | tuple):
        return tuple(_tuples(item) for item in value)
    return value
