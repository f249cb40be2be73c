"""Whether a rule that no file lists may be a guard: it takes advance where an engine needs it."""

from collections.abc import Iterator

import numpy as np

from tuneledger.explain.finding import Finding
from tuneledger.explain.leftover.model import Extra
from tuneledger.explain.model import Rule
from tuneledger.explain.nextstep import GUARDED
from tuneledger.explain.reads import conditions

_OTHER = {"above": "below", "below": "above"}


def guarding(extra: Extra, finding: Finding) -> tuple[str, ...]:
    """Channels that guards watch, and that the rule of something without a name goes by on the
    side on which a guard acts: hot oil, low pressure; a retard for cold oil guards nothing."""
    if extra.rule is None or extra.correction or extra.channel or extra.expected:
        return ()
    roles = finding.book.roles.by_signal
    watched = ((roles[signal], GUARDED[signal]) for signal in sorted(GUARDED) if signal in roles)
    return tuple(
        role.channel.name
        for role, side in watched
        if (side if role.scale > 0 else _OTHER[side]) in _sides(extra.rule, role.channel.name)
    )


def _sides(rule: Rule, channel: str) -> Iterator[str]:
    """The sides of a channel on which a rule takes advance."""
    for one in conditions(rule.when):
        if one.get("channel") == channel:
            yield from (side for side in _OTHER if one.get(side) is not None)
    if rule.along is not None and rule.along.channel == channel:
        slope = np.polyfit(rule.along.at, rule.along.deg, 1)[0] if len(rule.along.at) > 1 else 0.0
        yield "above" if slope < 0 else "below"
