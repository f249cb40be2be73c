"""Whether a correction is eased: whether it may take less, or less often, than before."""

from collections.abc import Sequence
from itertools import zip_longest

import numpy as np

from tuneledger.calibrations.model import Calibration, Comparison, Condition, Correction
from tuneledger.explain.nextstep import PROTECTING
from tuneledger.wording import listing

GUARDING = PROTECTING | {"rev limit"}  # reasons of what saves an engine, also from its driver
# What says how much it takes, and what is only said about it.
_AMOUNTS = {"amount": None, "values": None, "enabled": True}
_REMARKS = {"title": "", "expected": None, "logged_as": None, "reason": "other"}


def eased_protections(before: Calibration, after: Calibration) -> list[Correction]:
    """What protects the engine in the one sheet and may take less, or less often, in the other.

    By an edit or by whatever else loading the other sheet brings; each as the first has it.
    """
    return [
        one
        for one in before.spark.correction
        if one.reason in GUARDING and may_take(one) and eased(one, after.spark.find(one.id))
    ]


def eased_words(before: Calibration, after: Calibration) -> tuple[str, ...]:
    """A clause for each way: `switches off what protects the engine: Rev limit (rev limit)`."""
    ways: dict[str, list[str]] = {}
    for one in eased_protections(before, after):
        way = _way(one, after.spark.find(one.id))
        ways.setdefault(way, []).append(f"{one.called} ({one.reason})")
    return tuple(f"{way} what protects the engine: {listing(who)}" for way, who in ways.items())


def _way(before: Correction, after: Correction | None) -> str:
    if after is None:
        return "takes out"
    if not after.enabled:
        return "switches off"
    return "eases" if _act_alike(before, after) else "may ease"


def may_take(one: Correction) -> bool:
    """Whether it may lower the advance; what nobody knows the numbers of may."""
    return one.effect != "add" or not bool((one.grid >= 0).all())


def eased(before: Correction | None, after: Correction | None) -> bool:
    """True where it may now take less: smaller numbers, switched off, or told when otherwise.

    before, after: None where a sheet does not have it
    """
    if before is None or not before.enabled:
        return False
    if after is None or not after.enabled:
        return True
    if not _act_alike(before, after) and not _acts_no_less(before, after):
        return True  # other points, conditions, times or effect: nobody can say that it takes more
    if before.grid.shape != after.grid.shape:
        return True
    known = np.isfinite(before.grid) & np.isfinite(after.grid)
    told_alike = bool((np.isfinite(before.grid) == np.isfinite(after.grid)).all())
    return not told_alike or bool((after.grid[known] > before.grid[known] + 1e-9).any())


def _act_alike(before: Correction, after: Correction) -> bool:
    """Whether they differ in nothing but how much they take, and in remarks."""
    same = {**_AMOUNTS, **_REMARKS}
    return before.model_copy(update=same) == after.model_copy(update=same)


def _acts_no_less(before: Correction, after: Correction) -> bool:
    """Whether it only takes, and differs in conditions alone, which let it act no later."""
    same = {**_AMOUNTS, **_REMARKS, "when": ()}
    if before.model_copy(update=same) != after.model_copy(update=same):
        return False
    only_takes = all(one.effect == "add" and (one.grid <= 0).all() for one in (before, after))
    return bool(only_takes) and _no_later(before.when, after.when)


def _no_later(before: Sequence[Condition], after: Sequence[Condition]) -> bool:
    """Whether each condition holds at least wherever it held, as early: a wider threshold."""
    for one, other in zip_longest(before, after):
        if one == other:
            continue
        if not (isinstance(one, Comparison) and isinstance(other, Comparison)):
            return False
        widened = {"above": other.above, "below": other.below, "held": other.held}
        if one.model_copy(update=widened) != other:
            return False
        if (one.above is None) != (other.above is None):
            return False
        wider = (other.above or 0.0) <= (one.above or 0.0)
        wider &= (other.below or 0.0) >= (one.below or 0.0)
        if not wider or (other.held or 0.0) > (one.held or 0.0):
            return False
    return True
