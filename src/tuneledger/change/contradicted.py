"""What a rehearsal is worth where the log contradicts the sheet that is edited, in words."""

from collections.abc import Iterator, Sequence

from tuneledger.change.anew import standing_for
from tuneledger.change.rehearsal import Rehearsal
from tuneledger.explain.model import Running
from tuneledger.wording import share

# Such a share of what moves comes out where the sheet is right at least there.
_RIGHT_THERE = 0.9


def contradicted(rehearsal: Rehearsal) -> Iterator[str]:
    """Sentences for the headline: like which sheet the log behaves, if not like the edited one."""
    found = rehearsal.statement.running
    if found is None or found.matches_supplied:
        return
    if rehearsal.statement.sheets[0].file in found.unjudged:
        yield f"Whether the car ran revision {found.supplied}, edited here, this log cannot tell."
        return
    done = rehearsal.bearing is not None and rehearsal.bearing.done
    if found.best_file == rehearsal.statement.sheets[0].file and not done:
        yield f"Revision {found.supplied}, edited here, does not account for all in this log."
        return
    yield f"The log contradicts revision {found.supplied}, edited here{_like(rehearsal, found)}."


def _like(rehearsal: Rehearsal, found: Running) -> str:
    if found.best is not None and found.best != found.supplied:
        return f", and behaves like {found.best}"
    if rehearsal.bearing is not None and rehearsal.bearing.done:
        edited = rehearsal.edited.revision
        named = f"{edited}, put in its place" if edited != found.supplied else "the edited sheet"
        return f", and behaves like {named}: the car seems to run it already"
    return ", and behaves like no sheet given here"


def worth(rehearsal: Rehearsal, changed: Sequence[str]) -> Iterator[str]:
    """By how much the log contradicts the sheet, and what the rehearsal is worth by that.

    changed: ids of the corrections that the edit changes
    """
    found, held = rehearsal.statement.running, rehearsal.bearing
    judged = found is not None and rehearsal.statement.sheets[0].file not in found.unjudged
    if found is None or held is None or found.matches_supplied or not judged:
        return
    name = f"revision {found.supplied}"
    text = f"{name} gives what the log shows in {_of(held.share)} the run"
    if held.moving is None:
        text += ": what is rehearsed is computed from a sheet that the car did not run"
    elif held.moving >= _RIGHT_THERE:
        text += f", and in {_of(held.moving)} what moves here: there the rehearsal holds"
    else:
        text += f", and in {_of(held.moving)} what moves here: {_instead(rehearsal, changed)}"
    yield text
    yield (
        "what loading the edited file would change besides is not in this rehearsal. Read the ECU "
        "back first, save what is in it, and rehearse on its sheet"
    )


def _instead(rehearsal: Rehearsal, changed: Sequence[str]) -> str:
    """What a rehearsal tells where the sheet is wrong in what moves."""
    anew = standing_for(rehearsal.statement.causes).values()
    if any(name in anew for name in changed):
        return "what moves goes from what the log shows to the edited numbers"
    return "the rehearsal says what the sheets differ by, not what the car would do"


def _of(part: float) -> str:
    return f"{share(part)} of" if part >= 0.005 else "none of"
