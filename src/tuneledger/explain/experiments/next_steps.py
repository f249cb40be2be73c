"""The next step of each cause, with what is to be logged next."""

from collections.abc import Collection, Sequence
from dataclasses import replace

from tuneledger.explain.experiments.model import Experiment
from tuneledger.explain.finding import Finding
from tuneledger.explain.model import SURE, Cause, Running
from tuneledger.explain.nextstep import FIND_IT, FOR_THE_SHEET
from tuneledger.wording import sentence


def to_try(
    findings: Sequence[Finding], causes: Sequence[Cause], running: Running | None
) -> tuple[Experiment, ...]:
    """What to log next, about what was found beyond the sheets, or sheets that fit alike.

    Looked for, and imported, only where there is such a thing.
    """
    alike = running is not None and running.twins
    if not alike and not any(finding.extras for finding in findings):
        return ()
    from tuneledger.explain.experiments.asked import experiments

    return experiments(findings, causes, running)


def with_experiments(causes: Sequence[Cause], found: Sequence[Experiment]) -> tuple[Cause, ...]:
    """The causes, each told with the experiments that are about it."""
    suspected = {cause.correction for cause in causes if cause.entry is None}
    return tuple(
        _with(cause, [e for e in found if _is_about(e, cause, suspected)]) for cause in causes
    )


def _is_about(one: Experiment, cause: Cause, suspected: Collection[str | None]) -> bool:
    """An experiment on what a correction is suspected of is not about what it surely did."""
    if one.cause is None or one.cause != (cause.entry or cause.correction):
        return False
    return cause.entry is None or one.cause not in suspected


def _with(cause: Cause, own: Sequence[Experiment]) -> Cause:
    if not own or cause.raises_under_load:
        return cause
    asked = " ".join(_asked(one) for one in own)
    missing = any(one.sentence.startswith("Log ") for one in own)
    # What is only suspected waits for a channel: to state what it counts in goes before logging it.
    missing = missing or (cause.entry is None and cause.next_step.startswith("Log "))
    # Who is not sure of the rule looks for it in the sheet in vain; who is sure looks there first.
    if missing or (cause.next_step == FIND_IT and (cause.certainty < SURE or not own[0].bits)):
        return replace(cause, next_step=asked)
    if FOR_THE_SHEET in cause.next_step:  # once is enough
        asked = asked.replace(f": {FOR_THE_SHEET}.", ".")
    return replace(cause, next_step=f"{cause.next_step} {asked}")


def _asked(one: Experiment) -> str:
    """`Next log: light throttle, Wet switch on, and watch Fan; it tells Wet switch from Fan.`"""
    if one.bits and one.sentence.startswith(("Next log", "Then")):
        return sentence(f"{one.sentence.rstrip('.')}; it tells {one.tells}")
    return one.sentence
