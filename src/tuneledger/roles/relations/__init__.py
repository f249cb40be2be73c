"""Relations: what channels say of one another, whatever they are called."""

from collections.abc import Sequence

from tuneledger.calibrations.model import Calibration
from tuneledger.roles.evidence import Evidence
from tuneledger.roles.relations import (
    advance,
    alone,
    bysheet,
    crossed,
    filling,
    maps,
    motion,
    outcome,
    outside,
    parts,
    sheetunits,
    slips,
    unsigned,
    which,
    wrapped,
)

_CLEAR = 0.98


def weigh(evidence: Evidence, sheets: Sequence[Calibration] = ()) -> None:
    """Hear the relations, the plain ones first: the advances need speed and load."""
    for relation in (motion, filling):
        relation.weigh(evidence)
        evidence.take_stock()
    crossed.weigh(evidence)
    evidence.take_stock()
    slips.weigh(evidence, sheets)
    evidence.take_stock()
    found = advance.weigh(evidence)
    evidence.take_stock()
    if found is not None:
        parts.weigh(evidence)
        evidence.take_stock()
        which.compare(evidence, found)
        maps.weigh(evidence, found, sheets)
        evidence.take_stock()
        if not _both_clear(evidence):
            outcome.weigh(evidence, found, sheets)
        which.speak(evidence, found)
        alone.weigh(evidence, found, sheet=bool(sheets))
        evidence.take_stock()
        bysheet.weigh(evidence, sheets)
        evidence.take_stock()
    outside.weigh(evidence, sheets)
    if found is not None:
        sheetunits.weigh(evidence, sheets)
    crossed.settle(evidence, sheets)
    wrapped.weigh(evidence, sheets)
    unsigned.weigh(evidence, sheets)


def _both_clear(evidence: Evidence) -> bool:
    """Whether scheduled and delivered are beyond doubt already: a replay would cost time only."""
    both = (advance.SCHEDULED, advance.DELIVERED)
    return all(evidence.candidates(signal, least=_CLEAR, most=1) for signal in both)
