"""In which episodes a cause has its part."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from tuneledger.arrays import FloatArray
from tuneledger.explain.finding import Finding
from tuneledger.explain.leftover.model import Extra
from tuneledger.explain.model import Cause
from tuneledger.ledger.episodes import Run
from tuneledger.ledger.model import Episode


def placed(cause: Cause, episodes: Sequence[Episode], findings: Sequence[Finding]) -> Cause:
    """The cause with the episodes in which it acts, or for which it is suspected."""
    if cause.entry is not None:
        numbers = [i for i, e in enumerate(episodes) if _acts_in(e, cause, findings)]
    else:
        numbers = [i for i, e in enumerate(episodes) if _suspected_in(e, cause, findings)]
    return replace(cause, episodes=tuple(numbers))


def bare(
    episodes: Sequence[Episode], found: Sequence[Cause], findings: Sequence[Finding]
) -> list[Episode]:
    """Episodes of which nothing speaks yet, no stretch without an account either."""
    spoken_for = {number for cause in found for number in cause.episodes}
    return [
        e
        for i, e in enumerate(episodes)
        if i not in spoken_for
        and not any(a <= e.last and b >= e.first for a, b in findings[e.log].unknown)
    ]


def in_episodes(cause: Cause, episodes: Sequence[Episode], own: Sequence[Episode]) -> Cause:
    """The cause with the episodes that are about it."""
    return replace(cause, episodes=tuple(i for i, e in enumerate(episodes) if e in own))


def _suspected_in(episode_: Episode, cause: Cause, findings: Sequence[Finding]) -> bool:
    rows = slice(episode_.first, episode_.last + 1)
    return episode_.about == "delivery" and any(
        extra.entry is None and extra.correction == cause.correction and extra.rows[rows].any()
        for extra in findings[episode_.log].extras
    )


def _acts_in(episode_: Episode, cause: Cause, findings: Sequence[Finding]) -> bool:
    """Whether its entry has a part in an episode, be it for a moment, or beside others."""
    finding = findings[episode_.log]
    ledger, rows = finding.ledger, slice(episode_.first, episode_.last + 1)
    if episode_.about != "delivery":
        return False
    acts = any(
        (one.correction, one.file) == (cause.entry, cause.file)
        and _reaches(one.values[rows], 0.5 * ledger.tolerance)
        for one in ledger.entries
    )
    extras = (extra for extra in finding.extras if extra.entry == cause.entry)
    return acts or any(_may_act(extra, rows, finding) for extra in extras)


def _may_act(extra: Extra, rows: slice, finding: Finding) -> bool:
    """Whether what an episode shows is a threshold that the log cannot resolve, and no more."""
    if extra.leeway is None or any(_meets(run, rows) for run in finding.unknown):
        return False
    return any(_reaches(way[rows], finding.ledger.tolerance) for way in extra.leeway)


def _reaches(values: FloatArray, least: float) -> bool:
    return bool(np.nanmax(np.abs(np.nan_to_num(values)), initial=0.0) > least)


def _meets(run: Run, rows: slice) -> bool:
    return bool(run[0] < rows.stop and run[1] >= rows.start)
