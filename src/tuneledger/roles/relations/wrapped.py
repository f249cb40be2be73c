"""A channel that went round its byte: put right where its own course, or a sheet, leaves no doubt.

A channel that leaps by exactly so many steps as a byte holds, and goes on without a leap if that is
taken out, went round. An advance may also have gone round while it was elsewhere altogether (a
fixed −4.0° that is sent as +60.0°): then a sheet has to give what it was. Where neither does, and
the numbers are such as no engine is given, it is told as a suspicion, and nothing is changed.
"""

from collections.abc import Sequence

import numpy as np

from tuneledger.arrays import FloatArray
from tuneledger.calibrations.model import Calibration
from tuneledger.evaluate.replay import replay
from tuneledger.logs.steps import quantisation_step
from tuneledger.roles.evidence import SOUGHT, Evidence
from tuneledger.roles.facts import unfolded
from tuneledger.roles.fills import can_be
from tuneledger.roles.folded import (
    Fold,
    by_its_course,
    by_what_is_given,
    candidates,
    either_way,
)
from tuneledger.roles.inputs import LogInputs
from tuneledger.roles.model import Role, Roles
from tuneledger.roles.relations.advance import DELIVERED, SCHEDULED
from tuneledger.roles.relations.outcome import so_far
from tuneledger.roles.values import fits
from tuneledger.wording import count, quantity

_GAP = 0.2
_CLOSE_DEG = 0.4
# More than an engine is given, and by how much it then stands above what was asked for. Common
# practice, no source.
_NO_ADVANCE, _ABOVE = 50.0, 20.0
# What has mass or heat makes no leaps of its own, and an advance none by so much; what a foot or a
# relay moves may. A range is a good part of what a signal can be, or it is a step of something.
_NO_LEAPS = (
    SCHEDULED,
    DELIVERED,
    "engine speed",
    "vehicle speed",
    "engine coolant temperature",
    "intake air temperature",
    "oil temperature",
    "fuel temperature",
    "oil pressure",
    "barometric pressure",
)
_LEAST_RANGE = 0.2


def weigh(evidence: Evidence, sheets: Sequence[Calibration]) -> None:
    """Find what went round among the channels that play a part."""
    roles = so_far(evidence)
    for signal, role in roles.by_signal.items():
        if signal not in _NO_LEAPS or not _parted(evidence.log.sample(role.channel)):
            continue
        channel = next(i for i, f in enumerate(evidence.facts) if f.channel == role.channel)
        numbers = evidence.log.values(role.channel)
        fold = by_its_course(numbers, _least(role))
        fold = None if fold is None else _the_likelier_way(evidence, roles, role, numbers, fold)
        why = "only so does it go on without a leap"
        if fold is None and signal in (SCHEDULED, DELIVERED):
            fold = _by_a_sheet(evidence, roles, role, sheets)
            why = "only so does it come out as the sheet gives it"
        if fold is not None:
            evidence.folds[channel] = fold
            _judge_anew(evidence, channel, fold)
            evidence.notes.insert(0, f"{_went_round(role, numbers, fold)}; it is read so: {why}")
        elif signal == DELIVERED:
            _suspect(evidence, roles, role)


def _the_likelier_way(
    evidence: Evidence, roles: Roles, role: Role, numbers: FloatArray, fold: Fold
) -> Fold | None:
    """The fold down or up: what the signal can be all through, an advance nearest to its fellow,
    and the fewest samples moved. None where neither can be."""
    low, high = can_be(role.signal)
    fellow = SCHEDULED if role.signal == DELIVERED else DELIVERED
    beside = None
    if role.signal in (SCHEDULED, DELIVERED):
        inputs = LogInputs(evidence.log, roles, evidence.log.times(role.channel))
        beside = inputs.signal(fellow, "deg")

    def off(one: Fold) -> float:
        given = role.read(one.unfolded(numbers))
        far = np.abs(given - beside) if beside is not None else one.rows(numbers)
        return float(np.nanmean(far))

    def possible(one: Fold) -> bool:
        given = role.read(one.unfolded(numbers))
        return bool(np.nanmin(given) >= low and np.nanmax(given) <= high)

    return min(filter(possible, either_way([fold])), key=off, default=None)


def _judge_anew(evidence: Evidence, channel: int, fold: Fold) -> None:
    """What the channel's numbers look like, put right."""
    facts = unfolded(
        evidence.facts[channel], fold, evidence.log.sample(evidence.facts[channel].channel)
    )
    evidence.facts[channel] = facts
    for signal in (SCHEDULED, DELIVERED):
        reading, j = evidence.readings.get((channel, signal)), SOUGHT.index(signal)
        if reading is not None:
            look = fits(facts, signal, reading)
            evidence.add(channel, signal, max(0.0, look - float(evidence.judged[channel, j])))
            evidence.judged[channel, j] = max(look, float(evidence.judged[channel, j]))


def _least(role: Role) -> float:
    """How much a range has to be at least, in the channel's own numbers."""
    low, high = can_be(role.signal)
    return _LEAST_RANGE * (high - low) / abs(role.scale)


def _parted(thin: FloatArray) -> bool:
    """Whether a thin sample falls into two parts, far from each other."""
    own = np.unique(thin[np.isfinite(thin)])
    return own.size > 1 and float(np.diff(own).max()) >= _GAP * float(own[-1] - own[0])


def _by_a_sheet(
    evidence: Evidence, roles: Roles, role: Role, sheets: Sequence[Calibration]
) -> Fold | None:
    times = evidence.log.times(role.channel)
    numbers = evidence.log.values(role.channel)
    inputs = LogInputs(evidence.log, roles, times)
    start = inputs.signal(SCHEDULED, "deg") if role.signal == DELIVERED else None
    step = quantisation_step(numbers) or 0.0
    close = _CLOSE_DEG / abs(role.scale) + 0.75 * step
    for sheet in sheets:
        played = replay(sheet, inputs, start=start)
        given = played.delivered if role.signal == DELIVERED else played.scheduled
        fold = by_what_is_given(numbers, (given - role.offset) / role.scale, close, _least(role))
        if fold is not None:
            return fold
    return None


def _suspect(evidence: Evidence, roles: Roles, role: Role) -> None:
    """Say that delivered may have gone round, where nothing shows it but what it would be."""
    asked = roles.get(SCHEDULED)
    numbers = evidence.log.values(role.channel)
    inputs = LogInputs(evidence.log, roles, evidence.log.times(role.channel))
    scheduled = inputs.signal(SCHEDULED, "deg")
    if asked is None or scheduled is None:
        return
    for fold in candidates(numbers, _least(role)):
        high = numbers > fold.above
        given, less = role.read(numbers), role.read(fold.unfolded(numbers))
        far = (given > _NO_ADVANCE) & (given - scheduled > _ABOVE)
        if high.any() and far[high].all() and np.nanmin(less[high]) > -_NO_ADVANCE:
            says = _went_round(role, numbers, fold, may=True)
            evidence.notes.insert(0, f"{says}; {_LOOK}")
            evidence.perhaps_round.append(says)
            return


_LOOK = (
    "if it did not, delivered stands far above scheduled: look at it with a timing light, or at "
    "the raw number, before any load"
)


def _went_round(role: Role, numbers: FloatArray, fold: Fold, *, may: bool = False) -> str:
    rows = fold.rows(numbers)
    shown = float(np.median(numbers[rows]))
    by = fold.span if fold.up else -fold.span
    verb = "may have gone" if may else "went"
    unit = role.channel.unit or role.unit
    return (
        f"{role.channel.name} {verb} round its range of {fold.steps} steps in "
        f"{count(int(rows.sum()), 'sample')}: {quantity(shown, unit)} stands for "
        f"{quantity(shown + by, unit)}"
    )
