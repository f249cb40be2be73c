"""A sheet's corrections tried at channels that nobody can name: what makes the account come out.

Names may say nothing, and temperatures, throttle and pedal hardly differ by themselves. But where a
correction acts, delivered departs from scheduled, and only the channel that the ECU reads makes it
depart there and by as much. Each signal that a sheet reads and no channel surely is, is tried at
every channel that may be it; rows that come right by it, less those that go wrong, speak for it.
"""

from collections.abc import Iterator, Sequence

import numpy as np

from tuneledger.arrays import FloatArray
from tuneledger.calibrations.model import Calibration, Correction, readings
from tuneledger.evaluate.replay import replay
from tuneledger.roles.evidence import SOUGHT, Evidence
from tuneledger.roles.inputs import LogInputs
from tuneledger.roles.model import Role, Roles
from tuneledger.roles.relations.advance import DELIVERED, SCHEDULED
from tuneledger.roles.relations.common import graded
from tuneledger.roles.relations.outcome import so_far
from tuneledger.roles.relations.sheetunits import SomeRows
from tuneledger.signals import SIGNALS

_ROWS = 1500
_SURE, _MAY_BE, _MOST = 0.9, 2e-3, 8
_SAYS_ELSE = -1.0  # a name that is understood and says something else is not tried
_APART_DEG, _CLOSE_DEG = 0.7, 0.4
_FEWEST_ROWS = 20
_WORTHWHILE, _TELLING = 0.4, 0.7
_AS_GOOD = 0.03


def weigh(evidence: Evidence, sheets: Sequence[Calibration]) -> None:
    """Add what the sheets' corrections say of the signals that are not sure yet."""
    spoken: set[str] = set()  # one at a time: what is known of one lets another be seen
    while True:
        found = [one for sheet in sheets for one in _tried(evidence, sheet) if one[0] not in spoken]
        best = max(found, key=lambda one: max(one[1].values()), default=None)
        if best is None or max(best[1].values()) < _WORTHWHILE:
            return
        _speak(evidence, *best)
        spoken.add(best[0])


def _tried(
    evidence: Evidence, sheet: Calibration
) -> Iterator[tuple[str, dict[int, float], tuple[str, ...]]]:
    """(signal, channel → how much comes right by it, the corrections that read it)."""
    roles = so_far(evidence)
    given = roles.get(DELIVERED)
    if given is None or roles.get(SCHEDULED) is None:
        return
    lacking = {name for name in _read_by(sheet) if not _sure(evidence, name)}
    wanted = {name: some for name in lacking if (some := _may_be(evidence, name))}
    if not wanted:
        return
    times = evidence.log.times(given.channel)
    known = Roles({s: role for s, role in roles.by_signal.items() if s not in lacking})
    before = _left(evidence, known, sheet, lacking, times)
    if before is None or (np.abs(before) > _APART_DEG).sum() < _FEWEST_ROWS:
        return
    for name, channels in wanted.items():
        scores = {}
        for i in channels:
            reading = evidence.readings[i, name]
            own = evidence.facts[i].channel
            role = Role(name, own, reading.unit, reading.scale, reading.offset)
            trial = Roles({**known.by_signal, name: role})
            after = _left(evidence, trial, sheet, lacking - {name}, times)
            if after is not None:
                scores[i] = _better(before, after)
        if scores:
            owners = [c.id for c in sheet.spark.correction if c.enabled and name in _reads(c)]
            yield name, scores, tuple(owners)


def _better(before: FloatArray, after: FloatArray) -> float:
    """Rows that come right less those that go wrong, of those that were not right."""
    both = np.isfinite(before) & np.isfinite(after)
    off = both & (np.abs(before) > _APART_DEG)
    mended = off & (np.abs(after) <= _CLOSE_DEG)
    spoilt = both & (np.abs(before) <= _CLOSE_DEG) & (np.abs(after) > _APART_DEG)
    return float((mended.sum() - spoilt.sum()) / max(int(off.sum()), _FEWEST_ROWS))


def _left(
    evidence: Evidence, roles: Roles, sheet: Calibration, lacking: set[str], times: FloatArray
) -> FloatArray | None:
    """What is left over where corrections that read what is lacking are switched off."""
    inputs = SomeRows(LogInputs(evidence.log, roles, times), max(1, times.size // _ROWS))
    delivered = inputs.signal(DELIVERED, "deg")
    scheduled = inputs.signal(SCHEDULED, "deg")
    if delivered is None or scheduled is None:
        return None
    off = {c.id: False for c in sheet.spark.correction if lacking & _reads(c)}
    played = replay(sheet, inputs, start=scheduled, switched=off)
    return np.asarray(delivered - played.delivered)


def _reads(correction: Correction) -> set[str]:
    """The signals that a correction reads."""
    names = {n for r in readings(correction) for n in (r.signal, r.minus, r.over) if n}
    return names & SIGNALS.keys()


def _read_by(sheet: Calibration) -> set[str]:
    some = (_reads(c) for c in sheet.spark.correction if c.enabled)
    return set().union(*some) - {SCHEDULED, DELIVERED, "time"}


def _sure(evidence: Evidence, signal: str) -> bool:
    return bool(evidence.certainties()[:, SOUGHT.index(signal)].max(initial=0.0) >= _SURE)


def _may_be(evidence: Evidence, signal: str) -> list[int]:
    """Channels that may be a signal, are not surely another, and whose names do not say so."""
    certain = evidence.certainties()
    j = SOUGHT.index(signal)
    elsewhere = np.delete(certain, j, axis=1).max(axis=1, initial=0.0)
    order = np.argsort(-certain[:, j])[: 2 * _MOST]
    return [
        int(i)
        for i in order
        if certain[i, j] >= _MAY_BE
        and evidence.named[i, j] > _SAYS_ELSE
        and elsewhere[i] < _SURE
        and evidence.facts[i].distinct > 1
        and (int(i), signal) in evidence.readings
    ][:_MOST]


def _speak(
    evidence: Evidence, signal: str, scores: dict[int, float], owners: tuple[str, ...]
) -> None:
    """The channel by which most comes right, against those by which less does."""
    best = max(scores, key=lambda i: scores[i])
    rest = max((score for i, score in scores.items() if i != best), default=0.0)
    names = " and ".join(f"'{name}'" for name in owners)
    lead = float(np.clip(12.0 * (scores[best] - max(rest, 0.0)), 0.0, 6.0))
    says = f"with it {names} of the sheet comes out as delivered"
    lead *= graded(scores[best], _WORTHWHILE, _TELLING)  # half of it right may be chance
    evidence.add(best, signal, lead)
    for i, score in scores.items():
        behind = scores[best] - score
        if behind <= _AS_GOOD:  # a pedal and a throttle do as well as each other
            evidence.add(i, signal, 2.0 * graded(score, _WORTHWHILE, 0.9), says)
        else:
            evidence.add(i, signal, -float(np.clip(12.0 * behind, 0.0, 6.0)))
