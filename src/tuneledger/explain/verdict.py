"""The verdict over all causes and episodes, as the contract words it."""

from collections.abc import Sequence
from dataclasses import replace
from typing import Literal

import numpy as np

from tuneledger.explain.finding import Finding
from tuneledger.explain.little import next_to_nothing
from tuneledger.explain.model import SURE, Cause
from tuneledger.ledger.episodes import unaccounted_runs
from tuneledger.ledger.model import Episode

Verdict = Literal["agrees", "expected", "explained", "unexplained", "cannot tell"]

_MOSTLY = 0.5


def verdict(
    findings: Sequence[Finding], episodes: Sequence[Episode], causes: Sequence[Cause]
) -> Verdict:
    """The verdict where every log has a book; a missing delivered channel is decided before."""
    if any(e.needs and e.certainty < SURE for finding in findings for e in finding.extras):
        return "cannot tell"
    if not any(finding.book.judged.any() for finding in findings):
        return "cannot tell"
    if not episodes:  # what is left are channels that are not what their labels say
        return "explained" if causes else "agrees"
    if any(_open(number, finding, episodes) for number, finding in enumerate(findings)):
        return "unexplained"
    if any(not _explained(number, episode, causes) for number, episode in enumerate(episodes)):
        return "unexplained"
    if any(_rests_on_unsure(f, causes) or _left_to_a_suspicion(f) for f in findings):
        return "unexplained"
    return "expected" if all(cause.expected for cause in causes) else "explained"


def _open(number: int, finding: Finding, episodes: Sequence[Episode]) -> bool:
    """Whether more is left over than a moment here and there within what is explained.

    As little makes no sheet unfit either; a moment that stands alone is an episode of its own.
    """
    mine = [e for e in episodes if e.log == number and e.about == "delivery"]
    within = all(
        any(e.first <= a and b <= e.last and e.last - e.first > 2 * (b - a + 1) for e in mine)
        for a, b in finding.unknown
    )
    account = finding.account
    return not (within and next_to_nothing(finding.unknown, account.judging, account.left))


def _rests_on_unsure(finding: Finding, causes: Sequence[Cause]) -> bool:
    """Whether more than a moment would be left over, were what is not sure enough not posted.

    Beside a cause that is sure, another of several degrees may stand in the same episode: that one
    is not explained by its neighbour.
    """
    unsure = {(cause.entry, cause.file) for cause in causes if cause.certainty < SURE}
    ledger = finding.account.judging
    sure = tuple(
        e for e in ledger.entries if not unsure & {(e.correction, e.file), (e.correction, None)}
    )
    if len(sure) == len(ledger.entries):
        return False
    bare = replace(ledger, entries=sure)
    return not next_to_nothing(unaccounted_runs(bare), bare, finding.account.left)


def _left_to_a_suspicion(finding: Finding) -> bool:
    """Whether only a suspicion speaks for more than a moment of what is left over: beside it stands
    what the sheet computes, which explains nothing of that."""
    suspects = [
        e.rows for e in finding.extras if e.values is None and e.certainty < SURE and not e.expected
    ]
    if not suspects:
        return False
    rows, ledger = np.any(suspects, axis=0), finding.account.judging
    runs = [(a, b) for a, b in unaccounted_runs(ledger) if rows[a : b + 1].mean() >= _MOSTLY]
    return not next_to_nothing(runs, ledger, finding.base.left)


def _explained(number: int, episode: Episode, causes: Sequence[Cause]) -> bool:
    """Whether what posted most in an episode is sure enough."""
    sizes: dict[str, float] = {}
    for entry in episode.entries:  # two revisions may each post one of the same id
        sizes[entry.correction] = max(sizes.get(entry.correction, 0.0), abs(entry.deg))
    here = [cause for cause in causes if number in cause.episodes]
    if not here:
        return False
    most = max(here, key=lambda c: (sizes.get(c.entry or "", 0.0), c.certainty))
    return most.certainty >= SURE
