"""What is taken from an advance, or added to it, is not the advance.

A retard stands at 0 for most of a run and moves to one side; an advance hardly ever is 0 while the
engine turns. Such a channel is never taken for one of the two, and where delivered is not logged it
is told what it looks like.
"""

import numpy as np

from tuneledger.arrays import FloatArray
from tuneledger.roles import words
from tuneledger.roles.evidence import Evidence
from tuneledger.roles.relations.advance import DELIVERED, SCHEDULED
from tuneledger.roles.relations.common import stand_in, thin_run
from tuneledger.wording import degrees as signed
from tuneledger.wording import share as percent

_TURNING_RPM = 400.0
_FEWEST = 30
# Shares of the run at 0: what no advance does, and what a part does that its name owns to.
_AT_REST, _AT_REST_BY_NAME = 0.5, 0.1
_MOST_DEG = 30.0
_STILL, _STILL_DEG = 2, 0.05
_CLEAR = 0.98
_ONE_SIDE = 0.98
_LIKELY = 0.02
_NO_ADVANCE = -9.0


def weigh(evidence: Evidence) -> None:
    """Take what looks like a part of an advance out of those that may be one, and say so."""
    # where delivered is clear, no other can be taken for it; but it may be somebody's word
    clear = evidence.candidates(DELIVERED, least=_CLEAR, most=1)
    turning = stand_in(evidence, "engine speed")
    runs = None if turning is None else thin_run(evidence, *turning) > _TURNING_RPM
    for i in clear or range(len(evidence.facts)):
        facts = evidence.facts[i]
        angle = facts.unit is None or facts.unit.kind in ("angle", "number")
        if not angle or facts.distinct <= _STILL:
            continue
        degrees = thin_run(evidence, i)
        own = np.isfinite(degrees) if runs is None else np.isfinite(degrees) & runs
        says = _part(evidence, i, degrees[own])
        if says:
            evidence.parts[i] = says
            for signal in (SCHEDULED, DELIVERED):
                evidence.add(i, signal, _NO_ADVANCE)


def _part(evidence: Evidence, channel: int, degrees: FloatArray) -> str | None:
    """What a part of an advance looks like, in words; None where a channel does not."""
    if degrees.size < _FEWEST:
        return None
    rests = np.abs(degrees) < _STILL_DEG
    share, moves = float(rests.mean()), degrees[~rests]
    if not moves.size or share < _AT_REST_BY_NAME or np.abs(moves).max() > _MOST_DEG:
        return None
    one_side = max(float((moves > 0).mean()), float((moves < 0).mean())) >= _ONE_SIDE
    likely = max(evidence.likelihood(channel, s) for s in (SCHEDULED, DELIVERED)) > _LIKELY
    if not (likely and one_side and share >= _AT_REST):
        name = evidence.names[channel]
        if not words.says_part(name.own, name.around):
            return None
    far = moves[np.abs(moves).argmax()]
    return f"it is 0° in {percent(share)} of the run, and up to {signed(far)} in the rest"
