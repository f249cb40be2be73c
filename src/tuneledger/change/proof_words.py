"""What became of a cause, in a sentence."""

from tuneledger.explain.model import Cause
from tuneledger.wording import degrees, seconds, sentence, share

# Share of the time in which it acted whose operating points the second drive has to visit.
VISITED = 0.6


def called(cause: Cause) -> str:
    if cause.correction:
        return f"'{cause.correction}'"
    return {"hidden rule": "the hidden rule", "unknown": "what nothing explained"}.get(
        cause.kind, f"the {cause.kind}"
    )


def silent(cause: Cause) -> bool:
    """Whether the cause is a correction of the sheet that the ECU did not post."""
    return cause.entry is None and any("should have acted" in p.says for p in cause.evidence)


def was(cause: Cause) -> str:
    if silent(cause):
        return (
            f"{called(cause)} stayed silent for {seconds(cause.seconds)}, where the sheet has "
            f"{degrees(-cause.degrees)}"
        )
    return f"{called(cause)} was {degrees(cause.degrees)} for {seconds(cause.seconds)}"


def remains(cause: Cause, now: Cause) -> str:
    if silent(cause):
        return sentence(f"{was(cause)}; so it does now, for {seconds(now.seconds)}")
    text = f"{was(cause)} and is {degrees(now.degrees)} for {seconds(now.seconds)} now"
    return sentence(f"{text}; expected" if now.expected else text)


def gone(cause: Cause, covered: float, asked: float | None, now: Cause | None) -> str:
    text = f"{was(cause)}; {share(covered)} of where it acted was driven again"
    if asked is not None:
        text += f", where it would have acted for {seconds(asked)}"
    if silent(cause):
        return sentence(f"{text}, and it acts")
    if now is None:
        return sentence(f"{text}, and nothing of it is left")
    return sentence(f"{text}; the ECU now posts {degrees(now.degrees)}, with other numbers")


def not_shown(cause: Cause, covered: float, asked: float | None) -> str:
    text = f"{was(cause)}; only {share(covered)} of where it acted was driven again"
    if covered >= VISITED and asked is None:
        text = (
            f"{was(cause)}; nobody knows what brings it on, and the second drive was not there "
            "for as long"
        )
    elif covered >= VISITED and asked is not None:
        text = (
            f"{was(cause)}; the second drive went there, but not under its conditions: it would "
            f"have acted for {seconds(asked)}"
        )
    return sentence(f"{text}. Not shown is not fixed: drive there again")


def lacks(cause: Cause) -> str:
    return sentence(
        f"{was(cause)}; the second log does not carry what it reads, so nothing is shown of it"
    )
