"""One advance and no other: is it what the map asks for, or what was used?

A name such as `Timing` says advance and not which, and a log that carries one of the two may carry
either. What tells: a sheet whose corrections act (heard before, in `outcome`), an advance that
leaves every function of speed and load, as only an outcome does, and a log that came through the
diagnostic port, where SAE J1979 says it. Without any of these it stays open.
"""

import numpy as np

from tuneledger.roles import port, words
from tuneledger.roles.evidence import PRESENT, SOUGHT, Evidence
from tuneledger.roles.relations import leaning
from tuneledger.roles.relations.advance import DELIVERED, SCHEDULED, Advances
from tuneledger.roles.relations.common import graded

# A channel counts as an advance from this certainty on, of being either of the two.
_LIKELY = 0.2
_TOLD = 50.0  # somebody's word
# Log-odds of delivered against scheduled. Loggers that show one advance mostly show the used one;
# a run that keeps to a plain map is the likelier to be the map. Judgement, counted on made logs.
_MOSTLY_USED, _KEEPS, _DEPARTS = 0.85, -0.7, 3.0
_KEEPS_DEG, _DEPARTS_DEG, _SURELY_DEG = 0.7, 1.0, 2.2
_REPORTED = 4.0
# Beside a sheet there is no call to log what its map gives anyway. A number in the name counts two,
# though (`Timing 1`), and the other one is not here.
_BESIDE_A_SHEET = 1.9


def weigh(evidence: Evidence, found: Advances, *, sheet: bool) -> None:
    """Where one advance stands alone under a name that does not say which: say how likely each.

    sheet: a calibration was handed over with the log
    """
    i = _only_one(evidence)
    if i is None or i not in found.degrees or _says_which(evidence, i):
        return
    if any(i in (pair.a, pair.b) for pair in found.pairs):
        return  # it has company: the two were held against each other
    scheduled, delivered = (_odds(evidence, i, signal) for signal in (SCHEDULED, DELIVERED))
    lean = found.lean.get(i, 0.0)
    strays = leaning.wander(found, i, _KEEPS_DEG)
    used = _MOSTLY_USED - lean + _by_course(strays)
    if sheet and not any(c.isdigit() for c in evidence.names[i].own):
        used += _BESIDE_A_SHEET
    if port.is_reported(evidence.facts, evidence.facts[i]):
        used += _REPORTED
        says = "SAE J1979, whose names and steps this log has, reports the advance that was used"
        evidence.add(i, DELIVERED, 0.0, says)
    elif strays > _DEPARTS_DEG:
        says = f"it leaves any function of speed and load by up to {strays:.1f}°"
        evidence.add(i, DELIVERED, 0.0, says)
    evidence.add(i, SCHEDULED, delivered - scheduled - used)
    evidence.either.add(i)


def _by_course(strays: float) -> float:
    if strays <= _KEEPS_DEG:
        return _KEEPS if strays > 0 else 0.0  # 0: speed or load is not known
    return _DEPARTS * graded(strays, _DEPARTS_DEG, _SURELY_DEG)


def _only_one(evidence: Evidence) -> int | None:
    columns = [SOUGHT.index(s) for s in (SCHEDULED, DELIVERED)]
    either = evidence.certainties()[:, columns].sum(axis=1)
    likely = np.flatnonzero(either > _LIKELY)
    told = (evidence.weights[:, columns] > _TOLD).any()
    return int(likely[0]) if likely.size == 1 and not told else None


def _says_which(evidence: Evidence, i: int) -> bool:
    """Whether a name says which of the two it is. One cylinder's is never what a map asks for."""
    name = evidence.names[i]
    return words.says_which_advance(name.own, name.around)


def _odds(evidence: Evidence, i: int, signal: str) -> float:
    present = PRESENT[signal]
    return float(evidence.weights[i, SOUGHT.index(signal)]) + float(np.log(present / (1 - present)))
