"""From settled evidence to roles: certainty, reasons, runner-up, doubts and notes."""

from collections.abc import Collection, Mapping

import numpy as np

from tuneledger.arrays import FloatArray
from tuneledger.logs.raster import held_every
from tuneledger.roles import labels, words
from tuneledger.roles import misfits as misfits_
from tuneledger.roles.evidence import SOUGHT, Evidence
from tuneledger.roles.files import RolesFile
from tuneledger.roles.model import Doubt, Misfit, Role, Roles
from tuneledger.roles.values import Reading
from tuneledger.signals import SIGNALS
from tuneledger.units import conversion
from tuneledger.wording import listing, number

SURE = 0.8
_WORTH_NAMING = 0.3
_MOST_REASONS = 4
_CANDIDATES = 3
# The witnesses' weights are judgement; how often they came true was counted on made-up logs in
# many dresses, and this stretches the log-odds so that a certainty of 0.9 is right nine times in
# ten. The count is in docs/roles.md and is taken anew by the tests.
_STRETCH, _SHIFT = 0.9, -0.35
_HIGHEST = 0.999
_ADVANCES = ("scheduled advance", "delivered advance")


def give(
    evidence: Evidence, told: RolesFile, source: Mapping[str, str], units: Mapping[str, str]
) -> Roles:
    """The roles that are sure enough, and the doubts about the others."""
    certain = _calibrated(evidence.certainties())
    roles: dict[str, Role] = {
        "time": Role("time", evidence.log.time, "s", why=("it rises steadily",))
    }
    doubts = []
    misfits: list[Misfit] = []
    for j, signal in enumerate(SOUGHT):
        order = [int(i) for i in np.argsort(-certain[:, j])[:_CANDIDATES]]
        if not order:
            continue
        if signal in told.roles:
            wanted = told.roles[signal].strip().casefold()
            names = [f.channel.name.casefold() for f in evidence.facts]
            roles[signal] = _told_role(evidence, signal, names.index(wanted), source[signal])
        elif certain[order[0], j] >= SURE:
            wrong = misfits_.of_named(evidence, order[0], signal)
            if wrong is None:
                roles[signal] = _role(evidence, signal, order, certain[:, j])
            else:
                misfits.append(wrong)
        elif certain[order[0], j] >= _WORTH_NAMING:
            doubts.append(_doubt(evidence, signal, order, certain))
    misfits += _misfits(evidence, {*roles, *(one.signal for one in misfits)}, roles)
    unfit = {(one.signal, one.channel) for one in misfits}
    doubts = [d for d in doubts if (d.signal, d.candidates[0][0]) not in unfit]
    notes = (
        *_notes(roles, source),
        *_parts_in_the_place(evidence, roles),
        *(_misfit_note(one) for one in misfits),
        *evidence.notes,
    )
    parts = [
        (evidence.facts[i].channel, says)
        for i, says in evidence.parts.items()
        if "delivered advance" not in roles
    ]
    return Roles(
        *(roles, tuple(doubts), notes, dict(units), tuple(parts), tuple(misfits)),
        wanting=tuple(evidence.wanting),
        perhaps_round=tuple(evidence.perhaps_round),
    )


def _misfits(
    evidence: Evidence, settled: Collection[str], roles: Mapping[str, Role]
) -> list[Misfit]:
    """What is named like a signal that is not settled, and cannot be it."""
    given = {role.channel for role in roles.values()}
    taken = frozenset(i for i, facts in enumerate(evidence.facts) if facts.channel in given)
    lacking = (s for s in SOUGHT if s not in settled)
    found = (misfits_.find(evidence, signal, taken) for signal in lacking)
    return [one for one in found if one is not None]


def _misfit_note(one: Misfit) -> str:
    text = f"{one.channel.name} is not used as {one.signal}: {one.says}"
    if one.unit:
        text += f'; state it in a roles file: [units] "{one.channel.name}" = "{one.unit}"'
    return text


def _calibrated(raw: FloatArray) -> FloatArray:
    odds = np.log(np.clip(raw, 1e-12, 1 - 1e-12) / np.clip(1 - raw, 1e-12, 1))
    out: FloatArray = 1.0 / (1.0 + np.exp(-(_STRETCH * odds + _SHIFT)))
    return np.minimum(out, _HIGHEST)


def _role(evidence: Evidence, signal: str, order: list[int], certain: FloatArray) -> Role:
    best = order[0]
    reading = evidence.readings[best, signal]
    second = order[1] if len(order) > 1 and certain[order[1]] > 0.001 else None
    return Role(
        signal=signal,
        channel=evidence.facts[best].channel,
        unit=reading.unit,
        scale=reading.scale,
        offset=reading.offset,
        certainty=round(float(certain[best]), 3),
        why=reasons(evidence, best, signal),
        runner_up=None
        if second is None
        else (evidence.facts[second].channel, round(float(certain[second]), 3)),
        relabelled=reading.relabelled,
        held=_held(evidence, best, signal),
        fold=evidence.folds.get(best),
    )


def _held(evidence: Evidence, channel: int, signal: str) -> bool:
    """Whether the channel repeats its samples. Asked of the advances, which are read in full."""
    if not signal.endswith("advance"):
        return False
    return held_every(evidence.log.values(evidence.facts[channel].channel)) > 1


def _told_role(evidence: Evidence, signal: str, channel: int, source: str) -> Role:
    """A role that somebody gave. Values may still show how its numbers are to be read."""
    reading = evidence.readings.get((channel, signal)) or _as_labelled(evidence, channel, signal)
    why = (source, reading.says) if reading.says else (source,)
    return Role(
        signal=signal,
        channel=evidence.facts[channel].channel,
        unit=reading.unit,
        scale=reading.scale,
        offset=reading.offset,
        certainty=1.0,
        why=why,
        relabelled=reading.relabelled,
        held=_held(evidence, channel, signal),
        fold=evidence.folds.get(channel),
    )


def _as_labelled(evidence: Evidence, channel: int, signal: str) -> Reading:
    unit, own = evidence.facts[channel].unit, SIGNALS[signal].unit
    found = conversion(unit.symbol, own) if unit else None
    if unit is None or found is None:
        return Reading(own, 1.0, 0.0, 0.0)
    return Reading(unit.symbol, *found, cost=0.0)


def reasons(evidence: Evidence, channel: int, signal: str) -> tuple[str, ...]:
    """Why a channel may be a signal, most telling first, in plain words."""
    j, facts = SOUGHT.index(signal), evidence.facts[channel]
    weighted: list[tuple[float, str]] = []
    name = evidence.names[channel]
    said = (words.read_name(name.own, name.around) or {}).get(signal)
    if said is not None and said.words:
        spoken = listing(f"'{word}'" for word in said.words)
        weighted.append((float(evidence.named[channel, j]), f"its name says {spoken}"))
    label = labels.says(facts, signal)
    if label:
        weighted.append((float(evidence.labelled[channel, j]), label))
    reading = evidence.readings.get((channel, signal))
    if evidence.judged[channel, j] > 0 and reading is not None:
        low, high = sorted(reading.scale * v + reading.offset for v in (facts.low, facts.high))
        unit = SIGNALS[signal].unit
        looks = f"it runs from {number(low)} to {number(high)} {unit}".rstrip()
        weighted.append((float(evidence.judged[channel, j]), looks))
    relations = evidence.reasons.get((channel, signal), [])
    weighted += [(3.0, text) for text in dict.fromkeys(relations)]
    ordered = [text for weight, text in sorted(weighted, key=lambda w: -w[0]) if weight > 0]
    against = [reading.says] if reading is not None and reading.says else []
    return tuple(against + ordered[:_MOST_REASONS])


def _parts_in_the_place(evidence: Evidence, roles: Mapping[str, Role]) -> list[str]:
    """What somebody called an advance, and looks like a part of one."""
    return [
        f"{role.channel.name} is taken as {role.signal}, since {role.why[0]}, but it looks like "
        f"what is taken from the advance, not like an advance: {evidence.parts[i]}"
        for role in roles.values()
        if role.signal in _ADVANCES
        for i, facts in enumerate(evidence.facts)
        if facts.channel == role.channel and i in evidence.parts
    ]


def _instead(
    evidence: Evidence, signal: str, channel: int, certain: FloatArray
) -> tuple[str, float] | None:
    """Where one advance alone may be either of the two: the other one, and how likely it is."""
    if channel not in evidence.either or signal not in _ADVANCES:
        return None
    other = _ADVANCES[1 - _ADVANCES.index(signal)]
    return other, round(float(certain[channel, SOUGHT.index(other)]), 3)


def _doubt(evidence: Evidence, signal: str, order: list[int], every: FloatArray) -> Doubt:
    certain = every[:, SOUGHT.index(signal)]
    candidates = tuple(
        (evidence.facts[i].channel, round(float(certain[i]), 3))
        for i in order
        if certain[i] >= _WORTH_NAMING / 2
    )
    instead = _instead(evidence, signal, order[0], every)
    rivals = [channel.name for channel, odds in candidates if odds > 0.25 * candidates[0][1]]
    if instead is not None and len(rivals) == 1:
        why = f"its name says advance, but not that it is the {signal}, and no other channel does"
    elif len(rivals) > 1:
        why = f"{listing(rivals)} fit about as well as each other"
    else:
        spoken = reasons(evidence, order[0], signal)[:2]
        why = (
            f"only this speaks for {rivals[0]}: {listing(spoken)}"
            if spoken
            else "little speaks for it"
        )
    return Doubt(signal, candidates, why, instead)


def _notes(roles: Mapping[str, Role], source: Mapping[str, str]) -> list[str]:
    """What must not go unsaid: readings against a label, and roles that were remembered."""
    notes = []
    for role in roles.values():
        says = next(
            (w for w in role.why if w.startswith(("labelled", "its numbers", "counted", "in "))),
            None,
        )
        if role.relabelled and says:
            notes.append(f"{role.channel.name} is read as {role.signal}: {says}")
    remembered = [
        f"{s} is {roles[s].channel.name}"
        for s, w in source.items()
        if "remembered" in w and s in roles
    ]
    if remembered:
        notes.append(
            f"remembered from an earlier log with the same header: {listing(remembered)}; "
            "`tuneledger look LOG --forget` forgets it"
        )
    return notes
