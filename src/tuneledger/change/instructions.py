"""What a change order tells people to do: questions, steps, what to log, cautions."""

from collections.abc import Iterator, Sequence

import numpy as np

from tuneledger.calibrations.model import Calibration, Correction
from tuneledger.change.places import names_read
from tuneledger.change.raises import Raise, raised_words, unseen_words
from tuneledger.explain.model import Cause
from tuneledger.statement.model import Statement
from tuneledger.wording import degrees, listing, seconds, sentence

_ALWAYS = ("scheduled advance", "delivered advance", "engine speed")
_WATCH = ("knock level", "measured lambda")
_SMALL_DEG = 2.0  # a small step of advance: common practice, no source
QUALIFIED = "on a dynamometer or closed course, by someone qualified"


def questions(
    statement: Statement, protecting: Sequence[Correction], limited: Sequence[Correction] = ()
) -> Iterator[str]:
    """Of each correction that protects and is to be eased: why did it act?

    Those that did not act are asked about together. limited: those that a raised lowest limit eases
    """
    quiet: list[Correction] = []
    for correction in protecting:
        cause = next((c for c in statement.causes if c.correction == correction.id), None)
        if cause is None:
            quiet.append(correction)
        else:
            yield sentence(_why(correction, cause, correction in limited))
    for cut in (False, True):
        some = [one for one in quiet if (one in limited) == cut]
        if some:
            yield sentence(_what_for(some, cut))


_CANCELS = "the raised lowest limit cancels a part of what"


def _why(correction: Correction, cause: Cause, limited: bool) -> str:
    cut = f"{_CANCELS} it takes; " if limited else ""
    return (
        f"{correction.called} protects the engine ({correction.reason}); {cut}it moved the advance "
        f"by {degrees(cause.degrees)} for {seconds(cause.seconds)}. Why? Answer that, and mend it, "
        "before this is eased"
    )


def _what_for(some: Sequence[Correction], limited: bool) -> str:
    names = listing([f"{one.called} ({one.reason})" for one in some])
    one = len(some) == 1
    protect, they, what = (
        ("protects", "it", "what it is") if one else ("protect", "they", "what each is")
    )
    cut = f"{_CANCELS} {they} {'takes' if one else 'take'}; " if limited else ""
    return (
        f"{names} {protect} the engine; {cut}{they} did not act in these logs, so the logs do not "
        f"show {what} there for. Find that out before {'this is' if one else 'they are'} eased"
    )


def opening(file: str, revision: str, *, elsewhere: bool, stands: bool) -> str:
    """The step that names the file.

    elsewhere: it is not that of the revision in the car; stands: it is to be loaded as it is
    """
    if stands:
        own = f": {file}" if file else ""
        return f"Take the file of revision {revision} as it is, under the name that it has{own}."
    if elsewhere:
        return (
            f"Open {file}, not the file of the car. Enter each edit: the value after. The values "
            "before are those in the car, and this file may have others."
        )
    return (
        f"Open {file}. Enter each edit. Where the value before is not the one given here, stop and "
        "ask."
    )


def steps(
    in_car: str,
    edited: str,
    taken: Sequence[str],
    besides: bool,
    opening: str,
    stands: bool,
    most: float,
) -> tuple[str, ...]:
    """In this order, none left out.

    taken: revision names that stand for other sheets; opening: which file, and what to do with it;
    stands: the edited sheet exists already;
    most: by how much it raises advance, degrees; without end where nobody knows
    """
    named = f"'{edited}'" if edited not in taken else f"one of its own, not '{edited}' again"
    more = (
        "Read the other differences below, all of them: loading the file changes them too. "
        "Stop if one is not wanted."
        if besides
        else "Nothing else may differ: stop if a comparison with it shows more."
    )
    enter = (
        opening,
        "Write the old values into the notes of the file.",
        f"Save under a new revision name: {named}.",
    )
    take = (
        opening,
        "Look up each edit in it. Where the value after is not the one given here, stop and ask.",
    )
    return (
        "Save what is in the car now, under its own name, before anything else.",
        f"Compare it with revision {in_car}. Stop and send it if they differ.",
        more,
        *(_FROM_WHAT_STANDS if np.isinf(most) else ()),
        *(_IN_BETWEEN if most > _SMALL_DEG else ()),
        *(take if stands else enter),
        "Load it. Switch the power off and on where the controller needs it.",
        "Read the ECU back and compare it with the file that was meant, place by place.",
    )


_FROM_WHAT_STANDS = (
    "By how much it raises advance nobody can say: read out of the ECU what it has there now, and "
    "come up from that. Stop where that cannot be read.",
)
_IN_BETWEEN = (
    "Do not load the whole raise at once. Make sheets in between, each at most "
    f"{degrees(_SMALL_DEG, signed=False)} above the one before, the last "
    "the one meant here, each under a name of its own. Go through the steps below, and the drive, "
    "with each of them before the next.",
)


def care(raised: Sequence[Raise], limits: Sequence[str]) -> tuple[str, ...]:
    """What to read first of an edit that raises advance, by how much first; else nothing.

    limits: what is said of limits that are raised
    """
    more = raised_words(raised)
    more += limits
    if not more:
        return ()
    unseen = unseen_words(raised)
    return (
        f"Care: it {listing(more)}.",
        *([sentence(unseen)] if unseen else []),
        f"Raise in small steps, knock and exhaust temperature watched, {QUALIFIED}.",
    )


def to_log(
    statement: Statement, edited: Calibration, touched: Sequence[Correction]
) -> tuple[str, ...]:
    """Channels for the next log, by the names that this log has; what it lacks is said."""
    account = statement.logs[0]
    wanted = [*_ALWAYS, *names_read([edited.spark.map, *touched])]
    wanted += [c.logged_as for c in touched if c.logged_as]
    out = []
    for name in dict.fromkeys(wanted):
        role = account.roles.get(name)
        channel = role.channel if role else account.log.find(name)
        if channel is not None:
            same = channel.name.casefold() == name.casefold()
            out.append(channel.name if same else f"{channel.name} ({name})")
        elif name != "time":
            out.append(f"{name}, which this log lacks")
    watched = [account.roles.get(name) for name in _WATCH]
    out += [f"{role.channel.name} ({role.signal})" for role in watched if role is not None]
    rate = account.log.rate_hz
    out.append(f"all at {max(rate, 10.0):.0f} Hz or faster, scheduled and delivered together")
    return tuple(dict.fromkeys(out))


def cautions(statement: Statement, besides: bool, raised: bool) -> tuple[str, ...]:
    """raised: that small steps are wanted stands in `care` already"""
    out = []
    if statement.raised_under_load:
        out.append("Stop: delivered stands above scheduled under load. No load until it is solved.")
    slowly = f" Small steps, knock and exhaust temperature watched, {QUALIFIED}."
    out.append(
        "Too much advance can detonate an engine in seconds; too much retard overheats exhaust, "
        f"valves and turbo.{'' if raised else slowly}"
    )
    if besides:
        out.append("The other differences were not all driven in this log: nobody has seen them.")
    out.append(
        "Vehicles for public roads must keep to the local emission and safety rules. This paper "
        "advises; local rules and qualified practice come first."
    )
    return tuple(out)
