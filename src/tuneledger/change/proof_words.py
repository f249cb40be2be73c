"""What became of a cause, in words.

A cause that no sheet lists was read out of one log: of such a one the second log can only show
something like it, and the words say no more.
"""

from collections.abc import Sequence

from tuneledger.explain.model import SURE, Cause
from tuneledger.wording import degrees, listing, seconds, sentence, share

# Share of the time in which it acted whose operating points the second drive has to visit.
VISITED = 0.6

_INFERRED = ("hidden rule", "unknown")


def inferred(cause: Cause) -> bool:
    """Whether no sheet lists it, so that only something like it can be seen again."""
    return cause.kind in _INFERRED and not cause.expected


def silent(cause: Cause) -> bool:
    """Whether the cause is a correction of the sheet that the ECU did not post."""
    return cause.entry is None and any("should have acted" in p.says for p in cause.evidence)


def was(cause: Cause, name: str) -> str:
    """What a cause did in the first log, as a clause without a full stop."""
    if silent(cause):
        return (
            f"{name} stayed silent for {seconds(cause.seconds)}, where the sheet has "
            f"{degrees(-cause.degrees)}"
        )
    verb = "took" if cause.degrees < 0 else "added"
    return f"{name} {verb} {_size(cause)} on average for {seconds(cause.seconds)}"


def remains(cause: Cause, now: Cause, name: str) -> str:
    """The sentence for a cause that the second log shows as well, with its size then and now."""
    lasts = seconds(now.seconds)
    if silent(cause):
        return sentence(f"{was(cause, name)}; it still does, for {lasts}")
    verb = "takes" if now.degrees < 0 else "adds"
    text = f"{was(cause, name)} and {verb} {_size(now)} for {lasts} now"
    if inferred(cause):
        text = f"{was(cause, name)}; something like it {verb} {_size(now)} for {lasts} now"
    elif now.certainty < SURE:
        text = f"{was(cause, name)} and may be what {verb} {_size(now)} for {lasts} now"
    if now.expected:
        return sentence(f"{text}; expected")
    if cause.expected:
        return sentence(f"{text}. Expected before, not now: {now.says} {now.next_step}")
    return sentence(text)


def eased_words(reason: str) -> str:
    """What is added of a protection that takes less than it would have taken as it was."""
    return (
        f" It protects the engine ({reason}) and was eased: be sure that it was meant to be, and "
        "why it acted."
    )


def longer_words(reason: str) -> str:
    """What is added of a protection that has to act for far more of the second drive."""
    return (
        f" It protects the engine ({reason}) and acts for far more of the drive: find out why "
        "before going on."
    )


def gone(
    cause: Cause,
    name: str,
    covered: float,
    asked: float | None,
    now: Cause | None,
    care: str = "",
) -> str:
    """care: what has to be asked first, of a correction that protects."""
    text = f"{was(cause, name)}; {share(covered)} of where it acted was driven again"
    if asked is not None:
        text += f", where it would have acted for {seconds(asked)}"
    if silent(cause):
        return sentence(f"{text}, and it acts")
    if now is None:
        return sentence(f"{text}, and nothing of it is left{f'. {care}' if care else ''}")
    return sentence(f"{text}; now it is {degrees(now.degrees)}, with other numbers")


NOT_DRIVEN = "not driven again"
NOT_SO = "the drive went there, but not under its conditions"
NOT_LONG = "not driven for as long"


def not_shown(cause: Cause, name: str, why: str, covered: float, asked: float | None) -> str:
    """why: one of the above, or what `lacks` says"""
    text = was(cause, name)
    if why == NOT_DRIVEN:
        text += f"; only {share(covered)} of where it acted was driven again"
    elif why == NOT_LONG:
        text += "; nobody knows what brings it on, and the second drive was not there for as long"
    elif why == NOT_SO:
        acted = f"it would have acted for {seconds(asked)}" if asked else "it would not have acted"
        return sentence(
            f"{text}; the second drive went there, but not under its conditions: {acted}. Not "
            "shown is not fixed: a drive on which it acts of itself shows it"
        )
    else:
        return sentence(f"{text}; {why}: nothing is shown of it. Log it there")
    return sentence(f"{text}. Not shown is not fixed: drive there again")


def lacks(names: Sequence[str]) -> str:
    """The clause for channels that the second log does not carry."""
    return f"the second log does not carry {listing(names)}"


def _size(cause: Cause) -> str:
    return degrees(abs(cause.degrees), signed=False)
