"""A rule in the contract's form carried out over a log, by what carries out sheets."""

from typing import Any

import numpy as np

from tuneledger.arrays import FloatArray
from tuneledger.calibrations.model import Calibration
from tuneledger.evaluate.model import Inputs
from tuneledger.evaluate.replay import contributions
from tuneledger.explain.model import Rule


def posted_by(rule: Rule, inputs: Inputs) -> FloatArray | None:
    """Degrees per row that the rule posts; None where this log lacks a channel that it reads.

    Rows in which it is not known are 0.
    """
    (part,) = contributions(_sheet_of(rule), inputs)
    if part.missing:
        return None
    return np.where(part.active & part.computable, np.nan_to_num(part.values), 0.0)


def _sheet_of(rule: Rule) -> Calibration:
    correction: dict[str, Any] = {"id": "told", "when": [dict(one) for one in rule.when]}
    if rule.along is not None:
        correction["axes"] = [{"channel": rule.along.channel, "at": rule.along.at}]
        correction["values"] = rule.along.deg
    else:
        correction["amount"] = rule.amount_deg or 0.0
    if rule.ramp is not None:
        correction["ramp"] = rule.ramp
    spark = {"map": {"amount": 0.0}, "correction": [correction]}
    sheet = {"format": "tuneledger-calibration/1", "revision": "-", "spark": spark}
    return Calibration.model_validate(_strict(sheet))


def _strict(value: Any) -> Any:
    """Lists as tuples and whole numbers as floats, as the strict model takes them."""
    if isinstance(value, dict):
        return {key: _strict(item) for key, item in value.items()}
    if isinstance(value, list | tuple):
        return tuple(_strict(item) for item in value)
    return float(value) if isinstance(value, int) and not isinstance(value, bool) else value
