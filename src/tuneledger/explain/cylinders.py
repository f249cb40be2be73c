"""Another cylinder's advance that stands off delivered: a cause of its own, whatever else acts.

Delivered is one cylinder's, or the mean of all. What accounts for it says nothing of a cylinder
that was found elsewhere: to call that agreement, or explained, would be a false all-clear.
"""

from collections.abc import Sequence
from dataclasses import replace

from tuneledger.explain.bystanders import Bystander, aside, bystanders
from tuneledger.explain.causes import ranked
from tuneledger.explain.finding import Finding
from tuneledger.explain.model import Cause, Point, Running
from tuneledger.explain.verdict import Verdict
from tuneledger.wording import degrees, seconds, sentence

# What a channel of the log carries, as sure as of delivered's own difference.
_CARRIED = 0.95


def with_cylinders(
    decided: Verdict,
    causes: tuple[Cause, ...],
    running: Running | None,
    findings: Sequence[Finding],
) -> tuple[Verdict, tuple[Cause, ...], Running | None]:
    """Verdict, causes and running revision, with each cylinder that stands elsewhere as a cause.

    No sheet says what one cylinder alone is given, so none accounts for all that the logs show.
    """
    found = [one for one in bystanders(findings) if one.cylinder]
    if not found:
        return decided, causes, running
    causes = ranked((*causes, *(_cause(one, findings) for one in found)))
    if running is not None:
        running = replace(running, matches_supplied=False)
    if decided != "cannot tell":
        open_ = any(one.part is None for one in found) or decided == "unexplained"
        decided = "unexplained" if open_ else "explained"
    return decided, causes, running


def told_aside(findings: Sequence[Finding], said: str) -> str:
    """A sentence for a headline that names no such cylinder; empty where it does, or none is."""
    found = [one for one in bystanders(findings) if one.cylinder]
    return aside(found) if found and not any(one.name in said for one in found) else ""


def _cause(one: Bystander, findings: Sequence[Finding]) -> Cause:
    delivered = findings[0].book.roles.by_signal["delivered advance"].channel.name
    part = one.part
    which = "above" if one.mean > 0 else "below"
    most = "" if abs(one.degrees) < 1.15 * abs(one.mean) else f" (at most {_size(one.degrees)})"
    return Cause(
        rank=0,
        kind="unknown" if part is None else "hidden rule",
        correction=None,
        revision=None,
        channel=one.name if part is None else part.channel,
        degrees=one.mean,
        seconds=one.seconds,
        certainty=0.0 if part is None else _CARRIED,
        expected=False,
        says=sentence(
            f"{one.name} stands {_size(one.mean)}{most} {which} {delivered} for "
            f"{seconds(one.seconds)}, "
            + ("and nothing supplied says why" if part is None else f"as {part.channel} has it")
        ),
        next_step=f"Find out before any load what moves {one.name} alone; name it as delivered in "
        "a roles file to have it explained."
        if part is None
        else f"Find out why {part.channel} moves {one.name} alone before any change.",
        evidence=(Point("against", f"only {delivered} was compared with scheduled"),)
        if part is None
        else (Point("for", f"the channel {part.channel} carries it", part.channel),),
        rule=None if part is None else part.rule,
        raises_under_load=one.raises,
    )


def _size(value: float) -> str:
    return degrees(abs(value), signed=False)
