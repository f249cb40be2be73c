"""An advance that does not count in degrees of the crank: radians, tenths, degrees of the camshaft.

Such a channel runs like an advance, only smaller or bigger, and beside another that slips alike it
agrees with it all through. What shows the slip is a supplied sheet: its map, or what its
corrections make of it, gives the channel's numbers in one of the usual ways to count and not in
degrees. Without a sheet the slip can be suspected and no more (`misfits`).
"""

from collections.abc import Iterator, Sequence
from math import degrees

import numpy as np

from tuneledger.arrays import FloatArray
from tuneledger.calibrations.model import Calibration
from tuneledger.evaluate.replay import replay
from tuneledger.logs.steps import quantisation_step
from tuneledger.record import record
from tuneledger.roles import values
from tuneledger.roles.evidence import SOUGHT, Evidence
from tuneledger.roles.inputs import LogInputs
from tuneledger.roles.model import Roles
from tuneledger.roles.relations.advance import DELIVERED, SCHEDULED
from tuneledger.roles.relations.outcome import so_far
from tuneledger.roles.relations.sheetunits import SomeRows
from tuneledger.roles.values import Reading

_ROWS = 1500
_NAMED = 1.0
# Shares of the run that a sheet gives: what another way to count has to reach, and by how much it
# has to do better than degrees do, and than any third way.
_SETTLES, _BETTER = 0.6, 0.4
_CLOSE_DEG = 0.35
# A map that hardly moves where the car drove would fit any channel that stands still.
_LIVELY_DEG, _FEWEST = 3.0, 100
_BORNE_OUT = 2.0


@record
class _Way:
    """A way to count: degrees of the crank = scale · number + offset. unit: as it can be stated."""

    unit: str
    scale: float
    offset: float
    says: str


_DEGREES = (_Way("deg", 1.0, 0.0, ""), _Way("deg", -1.0, 0.0, ""))
_WAYS = (
    _Way("rad", degrees(1.0), 0.0, "the numbers are those of rad"),
    _Way("rad", -degrees(1.0), 0.0, "the numbers are those of rad, with the sign turned"),
    _Way("0.1 deg", 0.1, 0.0, "the numbers are tenths of a degree"),
    _Way("0.1 deg", -0.1, 0.0, "the numbers are tenths of a degree, with the sign turned"),
    _Way("0.01 deg", 0.01, 0.0, "the numbers are hundredths of a degree"),
    _Way("deg", 2.0, 0.0, "the numbers are degrees of the camshaft, half of the crank's"),
    # PID 0x0E of SAE J1979: advance = A/2 − 64
    _Way("deg", 0.5, -64.0, "the numbers are counts as SAE J1979 sends them: A/2 − 64"),
)


def weigh(evidence: Evidence, sheets: Sequence[Calibration]) -> None:
    """Read an advance in another way to count, where only so a sheet gives its numbers."""
    able = [i for i in range(len(evidence.facts)) if _may_slip(evidence, i)]
    if not able or not sheets:
        return
    roles = so_far(evidence)
    speed = roles.get("engine speed")
    if speed is None:
        return
    times = evidence.log.times(speed.channel)
    known = Roles({s: r for s, r in roles.by_signal.items() if s not in (SCHEDULED, DELIVERED)})
    inputs = SomeRows(LogInputs(evidence.log, known, times), max(1, times.size // _ROWS))
    given = [one for sheet in sheets for one in _given(sheet, inputs)]
    for i in able:
        numbers = inputs.channel(evidence.facts[i].channel.name, None)
        if numbers is not None and given:
            way = _only_so(numbers, given)
            if way is not None:
                _read_so(evidence, i, way)


def _may_slip(evidence: Evidence, channel: int) -> bool:
    """Whether a channel is named like an advance and nobody said how it counts, or a label says
    degrees that do not look like any."""
    facts = evidence.facts[channel]
    symbol = facts.unit.symbol if facts.unit else ""
    columns = [SOUGHT.index(s) for s in (SCHEDULED, DELIVERED)]
    if symbol == "deg" and float(evidence.judged[channel, columns].max()) >= 0.0:
        return False
    named = float(evidence.named[channel, columns].max())
    told = facts.channel.name in evidence.house.told
    return symbol in ("deg", "") and not told and named >= _NAMED and facts.count >= _FEWEST


def _given(sheet: Calibration, inputs: SomeRows) -> Iterator[FloatArray]:
    """What a sheet gives in each row: its map, and what its corrections make of it."""
    played = replay(sheet, inputs)
    for advance in (played.scheduled, played.delivered):
        own = advance[np.isfinite(advance)]
        if own.size >= _FEWEST and float(np.std(own)) > _LIVELY_DEG:
            yield advance


def _only_so(numbers: FloatArray, given: Sequence[FloatArray]) -> _Way | None:
    """The way to count by which a sheet gives the numbers as by no other."""
    step = quantisation_step(numbers) or 0.0
    share = {
        way: max(_share(numbers, step, way, advance) for advance in given)
        for way in (*_DEGREES, *_WAYS)
    }
    best = max(share, key=lambda way: share[way])
    next_best = max(part for way, part in share.items() if way != best)
    if best in _DEGREES or share[best] < max(_SETTLES, next_best + _BETTER):
        return None
    return best


def _share(numbers: FloatArray, step: float, way: _Way, advance: FloatArray) -> float:
    off = np.abs(way.scale * numbers + way.offset - advance)
    close = _CLOSE_DEG + 0.75 * step * abs(way.scale)
    own = np.isfinite(off)
    return float((off[own] <= close).mean()) if own.sum() >= _FEWEST else 0.0


def _read_so(evidence: Evidence, channel: int, way: _Way) -> None:
    facts = evidence.facts[channel]
    labelled = facts.labelled and facts.unit is not None
    says = f"labelled °, but {way.says}" if labelled else f"without a label, and {way.says}"
    against = "unit" if labelled and way.unit != "deg" else None
    reading = Reading(way.unit, way.scale, way.offset, 0.0, against, says)
    for signal in (SCHEDULED, DELIVERED):
        j = SOUGHT.index(signal)
        look = values.fits(facts, signal, reading)
        reason = f"only so does a supplied sheet give its numbers: {way.says}"
        evidence.add(
            channel, signal, look - float(evidence.judged[channel, j]) + _BORNE_OUT, reason
        )
        evidence.judged[channel, j] = look
        evidence.readings[channel, signal] = reading
    evidence.slipped.add(channel)
    if against is None:  # else the label is told as wrong, by a note of its own
        name = facts.channel.name
        evidence.notes.append(f"{name}: {says}; only so does a supplied sheet give what it shows")
