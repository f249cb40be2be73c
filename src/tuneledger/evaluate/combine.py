"""The effects in the order in which they act: bases, adds, caps, replacements, limits.

Each step posts an entry; with the start they sum to the delivered advance. An entry is NaN where
something that would change it is not known, and 0 where nothing could.
"""

from collections.abc import Mapping, Sequence

import numpy as np

from tuneledger.arrays import BoolArray, FloatArray
from tuneledger.calibrations.model import Limits
from tuneledger.evaluate.model import Contribution, Replay

LIMIT = "limit"


def combine(
    start: FloatArray,
    parts: Sequence[Contribution],
    limits: Limits | None,
    *,
    logged: Mapping[str, FloatArray] | None = None,
) -> Replay:
    """Let contributions act on a scheduled advance, in the order of their effects.

    start:  degrees, NaN where not known
    parts:  those that act, in sheet order
    limits: applied last, on a replacement too; the entry "limit" exists only where they do
    logged: correction id → signed degrees, which stand in for an `add`'s own numbers where finite

    Entries, in the parts' order:
    - `base`: its share of (value − start). A later base takes its share from the earlier ones, so
      that the shares of all and of the start make one.
    - `add`: the contribution.
    - `at most`, `at least`, in sheet order: what they cut from, or add to, what then stands.
    - `replace`: the last active one wins; its entry is value − start and every other entry 0.
    - `limit`: what the limits take.

    Delivered is NaN where one of the entries is; but where a replacement that is known to be
    active rules, nothing before it matters.
    """
    entries = dict.fromkeys([part.correction for part in parts], np.zeros_like(start))
    entries |= _bases(start, [part for part in parts if part.effect == "base"])
    for part in parts:
        if part.effect == "add":
            entries[part.correction] = _added(part, (logged or {}).get(part.correction))
    stands = start + sum(entries.values())
    for part in parts:
        if part.effect in ("at most", "at least"):
            entries[part.correction] = _cut(part, stands)
            stands = stands + entries[part.correction]
    replaced, stands = _replaced(start, stands, entries, parts)
    return _limited(start, stands, replaced, limits)


def _bases(start: FloatArray, bases: Sequence[Contribution]) -> dict[str, FloatArray]:
    """The last base takes its share first, the one before it of what is left, and so on."""
    left = np.ones_like(start)
    entries = {}
    for part in reversed(bases):
        acts, unsure = _acts(part)
        share = np.where(acts, part.weight, np.where(unsure, np.nan, 0.0))
        nothing = (share == 0.0) | (left == 0.0)
        entries[part.correction] = np.where(nothing, 0.0, left * share * (part.values - start))
        left = np.where(left == 0.0, 0.0, left * (1.0 - share))
    return entries


def _added(part: Contribution, logged: FloatArray | None) -> FloatArray:
    known = part.computable
    values = part.values if known.all() else np.where(known, part.values, np.nan)
    return values if logged is None else np.where(np.isnan(logged), values, logged)


def _cut(part: Contribution, stands: FloatArray) -> FloatArray:
    acts, unsure = _acts(part)
    gap = part.values - stands
    cut = np.minimum(gap, 0.0) if part.effect == "at most" else np.maximum(gap, 0.0)
    return np.where(acts, cut, np.where(unsure, np.nan, 0.0))


def _replaced(
    start: FloatArray,
    stands: FloatArray,
    entries: Mapping[str, FloatArray],
    parts: Sequence[Contribution],
) -> tuple[dict[str, FloatArray], FloatArray]:
    """Entries and standing advance after the replacements.

    Where it is not known whether one rules, only an entry that is 0 either way is known.
    """
    replacements = [part for part in parts if part.effect == "replace"]
    ruled, doubt = np.zeros((2, *start.shape), dtype=np.bool_)
    own = {}
    for part in reversed(replacements):
        acts, unsure = _acts(part)
        rules = acts & ~ruled & ~doubt
        own[part.correction] = np.where(rules, part.values - start, 0.0)
        stands = np.where(rules, part.values, stands)
        ruled |= rules
        doubt |= unsure & ~ruled
    if not ruled.any() and not doubt.any():
        return {**entries, **own}, stands
    out = {}
    for name, entry in entries.items():
        out[name] = np.where(ruled, 0.0, np.where(doubt & (entry != 0.0), np.nan, entry))
    for part in replacements:
        acts, unsure = _acts(part)
        mine = own[part.correction]
        out[part.correction] = np.where(doubt & (acts | unsure), np.nan, mine)
    return out, np.where(doubt, np.nan, stands)


def _limited(
    start: FloatArray, stands: FloatArray, entries: dict[str, FloatArray], limits: Limits | None
) -> Replay:
    if limits is None:
        return Replay(start, entries, stands)
    delivered = stands
    if limits.highest is not None:
        delivered = np.minimum(delivered, limits.highest)
    if limits.lowest is not None:
        delivered = np.maximum(delivered, limits.lowest)
    return Replay(start, entries | {LIMIT: delivered - stands}, delivered)


def _acts(part: Contribution) -> tuple[BoolArray, BoolArray]:
    """Where a part is known to be active, its value known or not; and where nobody knows.

    A part that is not computable although its activity is known must be active."""
    known = part.computable if part.known is None else part.known | part.computable
    return part.active | (known & ~part.computable), ~known
