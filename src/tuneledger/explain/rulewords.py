"""Rules and points of tables in words."""

from collections.abc import Mapping, Sequence
from typing import Any

from tuneledger.calibrations.model import Table
from tuneledger.explain.model import Cell, Rule
from tuneledger.phrases import acting
from tuneledger.wording import count, listing, quantity

_MOST_CELLS = 3  # as many as a sentence bears


def rule_in_words(rule: Rule, others: Sequence[Rule], units: Mapping[str, str]) -> str:
    """`it follows Inlet temp while Throttle is above 55 %`: what to look for in the car.

    others: rules that this log cannot tell from it, where it is not sure: what all of them have is
            said first, and the rest as perhaps
    units:  channel → unit, for thresholds
    """
    shared = [one for one in rule.when if all(_has(other, one) for other in others)]
    curve = rule.along if rule.hold is None else None
    if curve is None and 0 < len(shared) < len(rule.when):
        rest = [one for one in rule.when if one not in shared]
        perhaps = acting(rest, units)
        return f"it acts {acting(shared, units)}, perhaps only {perhaps} (open as yet)"
    verb = f"follows {curve.channel}" if curve else "acts"
    when = acting(rule.when, units) or ("" if curve else "throughout")
    return f"it {verb} {when}".rstrip()


def _has(rule: Rule, condition: Mapping[str, Any]) -> bool:
    """Whether a rule has the same condition, its number apart."""
    bare = {"above", "below"}
    return any(
        one.keys() == condition.keys()
        and all(one[key] == condition[key] for key in one.keys() - bare)
        for one in rule.when
    )


def cells_at(table: Table, cells: Sequence[Cell]) -> str:
    """`60 °C`, `150 kPa, 5000 rpm`: points of a table's axes, those that matter most first."""
    most = sorted(cells, key=lambda cell: -abs(cell.difference_deg) * cell.seconds)[:_MOST_CELLS]
    told = [
        ", ".join(quantity(x, axis.unit) for x, axis in zip(cell.at, table.axes, strict=True))
        for cell in most
    ]
    if len(cells) > len(most):
        told.append(count(len(cells) - len(most), "more cell"))
    return listing(told)
