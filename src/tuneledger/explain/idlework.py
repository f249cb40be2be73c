"""A rule that is an idle governor's work, as it shows once all other rules are posted.

The governor is looked for before any rule is. Where a rule that nobody wrote down acts at closed
throttle as well, the two together look like no governor, and a rule along some channel is read out
of what the other leaves: the governor again, under another name.
"""

from collections.abc import Callable
from dataclasses import replace

from tuneledger.explain.finding import Finding, posted_anew
from tuneledger.explain.leftover import idle
from tuneledger.explain.leftover.model import SUSPECTED, Extra
from tuneledger.explain.model import Need, Point
from tuneledger.explain.stages import Stages

_CLOSED_SHARE, _SAME_ROWS = 0.85, 0.8
# Nats by which another order has to be shorter.
_CLEARLY = 4.0


def in_either_order(ask: Callable[[Stages], Finding], stages: Stages) -> Finding:
    """What the stages find, the governor before the rules, or after them where that is shorter.

    One that acts alone is best known first; one that is overlaid by a rule is known only last. What
    acts with the throttle closed beside it may be its own work, about a target that moves.
    """
    first = as_governor(ask(stages))
    others = [e for e in first.extras if e.kind == "hidden rule" and e.name != idle.NAME]
    if any(_when_closed(first, e) for e in others) and not idle.target_logged(first.book):
        moved = ask(tuple((idle.find_moving,) if s == (idle.find,) else s for s in stages))
        if _governed(moved) and moved.cost < first.cost - _CLEARLY:
            return moved
    if not _governed(first) or not others:
        return first
    last = as_governor(ask(tuple(stage for stage in stages if stage != (idle.find,))))
    return last if _governed(last) and last.cost < first.cost - _CLEARLY else first


def _governed(finding: Finding) -> bool:
    return any(extra.name == idle.NAME for extra in finding.extras)


def as_governor(finding: Finding) -> Finding:
    """The finding with a rule that does a governor's work told as the governor.

    Where engine speed is not logged, that cannot be told: then such a rule is no surer than a
    suspicion.
    """
    blind = finding.book.inputs.signal("engine speed", "rpm") is None
    for extra in finding.extras:
        if not _at_closed_throttle(finding, extra):
            continue
        other = _perhaps(extra) if blind else _governor(finding, extra)
        if other is None:
            continue
        told = posted_anew(finding, [other if one is extra else one for one in finding.extras])
        if _left_rows(told) <= _left_rows(finding):
            return told
    return finding


def _left_rows(finding: Finding) -> int:
    return sum(last + 1 - first for first, last in finding.unknown)


def _when_closed(finding: Finding, extra: Extra) -> bool:
    """Whether something acts with the throttle closed, and hardly else."""
    rows = extra.rows
    return bool(rows.any() and finding.book.regimes.closed[rows].mean() >= _CLOSED_SHARE)


def _at_closed_throttle(finding: Finding, extra: Extra) -> bool:
    """Whether a rule of more than one amount acts with the throttle closed, and hardly else."""
    if extra.rule is None or extra.rule.along is None or extra.name:
        return False
    return _when_closed(finding, extra)


def _governor(finding: Finding, extra: Extra) -> Extra | None:
    """The governor that accounts for the same rows, the others posted; None if none does."""
    others = [one for one in finding.extras if one is not extra]
    without = posted_anew(finding, others)
    for found in idle.governor(finding.book, without.account, alone=True):
        if found.rows[extra.rows].mean() >= _SAME_ROWS:
            return replace(found, entry=extra.entry)
    return None


def _perhaps(extra: Extra) -> Extra:
    why = "what acts at closed throttle may be the idle governor, which follows it"
    return replace(
        extra,
        certainty=min(extra.certainty, SUSPECTED),
        name=f"perhaps {idle.NAME}",
        needs=(*extra.needs, Need("engine speed", why)),
        points=(
            *extra.points,
            Point("against", "perhaps the idle governor: engine speed is not logged"),
        ),
    )
