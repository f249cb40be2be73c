"""Headlines of what is not settled: what is open, what is lacking, and what is known so far."""

import re
from collections.abc import Sequence

import numpy as np

from tuneledger.explain.finding import Finding
from tuneledger.explain.misnamed import lacking as why
from tuneledger.explain.misnamed import to_state
from tuneledger.explain.model import SURE, Cause, Need
from tuneledger.roles.model import Doubt, Roles
from tuneledger.wording import degrees, listing, quantity, share

_DELIVERED = "delivered advance"
NAME_IT = "Name it in a roles file (--roles); `tuneledger look` shows why."
# What is open is a rest, and does not lead, up to this share of all degrees times seconds.
_A_REST = 0.2
# A control unit whose engine stands moves its advance no further. Judgement.
_RUNS_DEG = 5.0
_SENTENCE_END = re.compile(r"(?<=[.!?])\s+(?=[A-Z])")


def unsettled(causes: Sequence[Cause]) -> str:
    """Where not all is explained: what is sure, if it is nearly all; else the most that is not."""
    asked = [cause for cause in causes if not cause.expected] or causes
    doubtful = [cause for cause in asked if cause.certainty < SURE]
    if not doubtful:
        return not_sure(min(asked, key=lambda cause: cause.certainty))
    worst = max(doubtful, key=_weight)
    sure = next((cause for cause in asked if cause.certainty >= SURE), None)
    if sure is not None and sum(map(_weight, doubtful)) <= _A_REST * sum(map(_weight, asked)):
        return f"Mostly explained: {lowered(sure.says)} {first_step(sure)} Open: {doubted(worst)}"
    if worst.kind == "unknown":
        return f"Not explained yet: {lowered(worst.says)} {first_step(worst)}"
    return not_sure(worst)


def _weight(cause: Cause) -> float:
    return abs(cause.degrees) * cause.seconds


def first_step(cause: Cause) -> str:
    """The next step as short as a headline has it: its first sentence, without what a drive would
    tell apart, and whatever keeps from load."""
    first, *more = _SENTENCE_END.split(cause.next_step)
    shown = [f"{first.partition('; it tells ')[0].rstrip('.')}."]
    return " ".join(shown + [one for one in more if one.startswith("No load")])


def not_sure(cause: Cause) -> str:
    """A cause that is only suspected, and what to do about it."""
    return f"Not sure yet ({share(cause.certainty)}): {lowered(cause.says)} {first_step(cause)}"


def cannot_tell(findings: Sequence[Finding], causes: Sequence[Cause], needs: Sequence[Need]) -> str:
    """What has to be logged or asked for before all can be said, and what is sure without it."""
    if not any(finding.book.judged.any() for finding in findings):
        return _nothing_to_judge(findings)
    suspect = _waits(findings, [cause for cause in causes if cause.certainty < SURE])
    wanted = listing(need.what for need in needs)
    if suspect is None:
        return f"Cannot tell: log {wanted} as well."
    return f"Cannot tell yet: {lowered(suspect.says)} {first_step(suspect)}{_sure_so_far(causes)}"


def _waits(findings: Sequence[Finding], doubtful: Sequence[Cause]) -> Cause | None:
    """The first doubtful cause that hangs on what is lacking; else the first."""
    lacks = {(e.entry, e.correction) for f in findings for e in f.extras if e.needs}
    waiting = (cause for cause in doubtful if (cause.entry, cause.correction) in lacks)
    return next(waiting, next(iter(doubtful), None))


def _sure_so_far(causes: Sequence[Cause]) -> str:
    """What is sure already; of a correction that stayed silent also what to do about it."""
    sure = next((c for c in causes if c.certainty >= SURE and not c.expected), None)
    if sure is None:
        return ""
    step = "" if sure.entry is not None else f" {first_step(sure)}"
    return f" Sure so far: {lowered(sure.says)}{step}"


def _nothing_to_judge(findings: Sequence[Finding]) -> str:
    """No row of any log can be compared: most likely the engine was not turning."""
    files = listing(finding.book.log.file for finding in findings)
    if all(finding.book.regimes.void.all() for finding in findings):
        dead = next(filter(None, map(_dead_speed, findings)), None)
        return dead or (
            f"Cannot tell: the engine never turned in {files}, so no spark was delivered. Log a "
            "run with the engine on."
        )
    return (
        f"Cannot tell: in no sample of {files} are scheduled and delivered advance both known with "
        "the engine turning."
    )


def _dead_speed(finding: Finding) -> str | None:
    """An engine speed that never moves beside an advance that does: the engine turned after all."""
    book, role = finding.book, finding.book.roles.get("engine speed")
    moved = book.delivered[np.isfinite(book.delivered)]
    if role is None or not moved.size or np.ptp(moved) <= _RUNS_DEG:
        return None
    speed = book.log.series(role.channel).values
    if not speed.size or np.ptp(speed) > 0:
        return None
    channel, stands = role.channel.name, quantity(float(speed[0]), role.channel.unit)
    return (
        f"Cannot tell: {channel} stands at {stands} all through {book.log.file}, while delivered "
        f"advance moves by {degrees(float(np.ptp(moved)), signed=False)}: the engine ran, and its "
        "speed was not logged (a dead sensor, or a channel that is not filled). Mend that, and log "
        "again."
    )


def no_delivered(file: str, roles: Roles) -> str:
    """The headline where no channel is surely the delivered advance."""
    unfit = next((m for m in roles.misfits if m.signal == _DELIVERED), None)
    if unfit is not None:
        step = to_state([_DELIVERED], roles) or "Log it so that it counts in degrees."
        says = f"{unfit.channel.name} is no delivered advance as it stands: {unfit.says}"
        return f"Cannot tell: {says}. {step}"
    doubt = next((d for d in roles.doubts if d.signal == _DELIVERED), None)
    if doubt is not None and doubt.instead is not None:
        return _either(file, doubt)
    if doubt is not None:
        return _not_sure_which(file, _DELIVERED, candidates(doubt))
    if roles.parts:
        channel, looks = roles.parts[0]
        return (
            f"Cannot tell: {file} carries no delivered advance. {channel.name} looks like what is "
            f"taken from it, not like the advance itself: {looks}. Log delivered advance together "
            "with scheduled."
        )
    return f"Cannot tell: {file} carries no delivered advance. Log it together with scheduled."


def candidates(doubt: Doubt) -> list[str]:
    """The channels that might carry a signal that none surely carries, with how likely each is."""
    return [f"{channel.name} ({share(sure)})" for channel, sure in doubt.candidates[:2]]


def _either(file: str, doubt: Doubt) -> str:
    """One advance alone, which may be either of the two."""
    assert doubt.instead is not None
    (channel, sure), (other, perhaps) = doubt.candidates[0], doubt.instead
    return (
        f"Cannot tell: {channel.name} is the only advance in {file}, and may be the {doubt.signal} "
        f"({share(sure)}) or the {other} ({share(perhaps)}). Log the other one beside it, or say "
        "in a roles file (--roles) which it is."
    )


def nothing_to_start_from(
    file: str, lacking: Sequence[str], perhaps: Sequence[str], roles: Roles
) -> str:
    """The headline where neither the log nor a sheet says what was asked for.

    lacking: what the supplied map reads and the log does not carry
    perhaps: channels that may be the scheduled advance, none of them surely
    """
    if perhaps:
        return _not_sure_which(file, "scheduled advance", perhaps)
    stated = to_state(lacking, roles)
    if stated is not None:
        return (
            f"Cannot tell: {file} carries no scheduled advance, and the map cannot be computed: "
            f"{why(lacking, roles)}. {stated}"
        )
    if lacking:
        return (
            f"Cannot tell: {file} carries no scheduled advance, and the map cannot be computed "
            f"without {listing(lacking)}. Log scheduled advance, or {listing(lacking)}."
        )
    return (
        f"Cannot tell: {file} carries no scheduled advance, and no sheet was given. Log scheduled "
        "advance, or send the calibration."
    )


def _not_sure_which(file: str, signal: str, perhaps: Sequence[str]) -> str:
    return (
        f"Cannot tell: not sure which channel of {file} is the {signal}; perhaps "
        f"{listing(perhaps, 'or')}. {NAME_IT}"
    )


def doubted(cause: Cause) -> str:
    """What a cause says, to go on with after a colon; where it is not sure, that comes first."""
    text = lowered(cause.says)
    if cause.kind == "unknown" or cause.certainty >= SURE:
        return text
    return f"not sure yet ({share(cause.certainty)}), {text}"


# How sentences begin that are ours; what else begins one is somebody's name for a correction.
_OURS = ("A ", "Another ", "Delivered ", "Nothing ", "Scheduled ", "The ")


def lowered(text: str) -> str:
    """A sentence to go on with after a colon; names keep their letters as they are."""
    return text[:1].lower() + text[1:] if text.startswith(_OURS) else text
