"""A rule that was read out of a log, as a correction of a sheet: what evaluation can carry out."""

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

import numpy as np

from tuneledger.arrays import FloatArray
from tuneledger.calibrations.model import Correction
from tuneledger.evaluate.corrections import carry_out
from tuneledger.evaluate.model import Inputs, Source
from tuneledger.explain.model import Curve, Hold, Rule
from tuneledger.roles.model import Roles

# A held advance is told over so many degrees of what may be asked for beyond it.
_BEYOND_DEG = 60.0


def as_correction(rule: Rule, correction_id: str, **more: Any) -> Correction:
    """The rule as a correction with that id; `more`: further keys of it, such as a title.

    It reads the log's own channels in the log's own units.
    """
    written: dict[str, Any] = {"id": correction_id, **more}
    if rule.hold is not None:
        written["effect"], written["amount"] = rule.hold.effect, rule.hold.degrees
    elif rule.along is not None:
        at, deg = _rising(rule.along)
        if len(at) > 1:
            written["axes"] = ({"channel": rule.along.channel, "at": at},)
            written["values"] = deg
        else:
            written["amount"] = deg[0]
    else:
        written["amount"] = float(rule.amount_deg or 0.0)
    if rule.when:
        written["when"] = tuple(_condition(terms) for terms in rule.when)
    if rule.ramp is not None:
        written["ramp"] = dict(rule.ramp) if isinstance(rule.ramp, Mapping) else float(rule.ramp)
    return Correction.model_validate(written)


def contribution(rule: Rule, inputs: Inputs) -> FloatArray:
    """What the rule posts per row, degrees; NaN where that cannot be computed."""
    part, _ = carry_out(
        as_correction(replace(rule, hold=None), "rule"), inputs, {}, Source("", "", "")
    )
    values: FloatArray = np.where(part.computable, part.values, np.nan)
    return values


def along_scheduled(hold: Hold, roles: Roles) -> Curve | None:
    """What a held advance takes or adds, along the logged scheduled advance and in its own unit;
    None where that is not logged."""
    role = roles.get("scheduled advance")
    if role is None or not role.scale:
        return None
    low = 0.0 if hold.effect == "at most" else -_BEYOND_DEG
    high = 0.0 if hold.effect == "at least" else _BEYOND_DEG
    points = sorted(
        ((hold.degrees + over - role.offset) / role.scale, -over) for over in (low, high)
    )
    at, deg = zip(*points, strict=True)
    return Curve(role.channel.name, tuple(round(x, 6) for x in at), tuple(deg))


def _rising(curve: Curve) -> tuple[tuple[float, ...], tuple[float, ...]]:
    """The curve's points in rising order, each place once."""
    points = dict(sorted(zip(curve.at, curve.deg, strict=True)))
    return tuple(float(x) for x in points), tuple(float(d) for d in points.values())


def _condition(terms: Mapping[str, Any]) -> dict[str, Any]:
    """A condition with the types that a strict sheet asks for."""
    out: dict[str, Any] = {}
    for key, value in terms.items():
        if isinstance(value, Mapping):
            out[key] = _condition(value)
        elif isinstance(value, list | tuple):
            out[key] = tuple(_condition(v) if isinstance(v, Mapping) else float(v) for v in value)
        else:
            out[key] = float(value) if isinstance(value, int | float | np.number) else value
    return out
