"""Above which outside air a pressure is counted, where the log does not carry the outside air.

A gauge pressure becomes an absolute one by the outside air. Where that is not logged the standard
atmosphere is assumed, and at 1500 m that is 17 kPa too much: a sheet's map, read there, comes out
otherwise in every cell, as though another were loaded. Where one outside air makes the sheet come
out, that is the plainer account; which of the two it is, only the barometric pressure tells.
"""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from tuneledger.arrays import FloatArray
from tuneledger.calibrations.model import Calibration, readings
from tuneledger.evaluate.replay import map_advance, replay
from tuneledger.record import record
from tuneledger.roles.evidence import Evidence
from tuneledger.roles.inputs import LogInputs
from tuneledger.roles.model import Roles, Wanting
from tuneledger.roles.relations.outcome import so_far
from tuneledger.roles.relations.sheetunits import SomeRows
from tuneledger.roles.values import AIR_KPA
from tuneledger.wording import quantity

_PRESSURE, _OUTSIDE = "manifold absolute pressure", "barometric pressure"
_SCHEDULED, _DELIVERED = "scheduled advance", "delivered advance"
_ROWS = 1500
# Where people drive: about 4000 m up to a high at the sea (ISO 2533 standard atmosphere; the record
# at the sea is 108 kPa).
_LOWEST_KPA, _HIGHEST_KPA = 60.0, 106.0
# Rows that come out, and the share of them that makes it an answer, or a doubt; what is left has to
# be less by so much, in all and as a share. A map raised in a part settles less than an answer.
_CLOSE_DEG, _SETTLED, _MOSTLY = 0.3, 0.9, 0.5
_LESS_DEG, _LESS = 0.1, 0.6
_FAR_DEG = 2.0  # what a correction that the sheet lacks leaves over counts as no more


def weigh(evidence: Evidence, sheets: Sequence[Calibration]) -> None:
    """Say which outside air is assumed, and read the pressure by another where a sheet fits so."""
    counted = any(r.from_air for (_, s), r in evidence.readings.items() if s == _PRESSURE)
    roles = so_far(evidence) if counted else Roles()
    role = roles.get(_PRESSURE)
    if role is None or roles.get(_OUTSIDE) or evidence.house.air_kpa != AIR_KPA:
        return
    channel = next(i for i, facts in enumerate(evidence.facts) if facts.channel == role.channel)
    reading = evidence.readings.get((channel, _PRESSURE))
    if reading is None or not reading.from_air:
        return
    name, standard = role.channel.name, quantity(AIR_KPA, "kPa")
    above = f"{name} is read as a pressure above the outside air, which is not logged"
    found = _better_air(evidence, roles, sheets)
    if found is None:
        evidence.notes.append(f"{above} and is assumed to be {standard}")
    elif not found.settles:
        evidence.notes.insert(
            0,
            f"{above} and is assumed to be {standard}; with {quantity(found.kpa, 'kPa')} the "
            "sheet's map would come out better, though not everywhere: log barometric pressure "
            "before it is taken for another map",
        )
    else:
        there, shift = quantity(found.kpa, "kPa"), found.kpa - AIR_KPA
        evidence.readings[channel, _PRESSURE] = replace(reading, offset=reading.offset + shift)
        evidence.notes.insert(
            0,
            f"{above}: with the {standard} of the standard atmosphere the sheet's map does not "
            f"come out, with {there} it does, and it is read so. If the outside air was not about "
            f"{there}, another map is in the car: log barometric pressure",
        )
    if any(r.signal == _PRESSURE for sheet in sheets for r in readings(sheet.spark)):
        decides = "; another one of it does what another map would" if found else ""
        why = f"{name} is counted from it{decides}"
        evidence.wanting.append(Wanting(_OUTSIDE, why, found is not None))


@record
class _Air:
    """An outside air by which a sheet comes out better, and whether all of it does."""

    kpa: float
    settles: bool


def _better_air(evidence: Evidence, roles: Roles, sheets: Sequence[Calibration]) -> _Air | None:
    """The outside air by which a sheet comes out as it does not by the standard one."""
    wanted = roles.get(_SCHEDULED) or roles.get(_DELIVERED)
    reading = [s for s in sheets if any(a.signal == _PRESSURE for a in s.spark.map.axes)]
    if wanted is None or not reading:
        return None
    least = min(_mean(_left(evidence, roles, sheet, AIR_KPA)) for sheet in reading)
    best: tuple[float, float, float] | None = None
    for sheet in reading:
        air = _search(evidence, roles, sheet)
        left = _left(evidence, roles, sheet, air)
        if left.size and (best is None or _mean(left) < best[0]):
            best = (_mean(left), air, float((left <= _CLOSE_DEG).mean()))
    if best is None or best[0] > min(_LESS * least, least - _LESS_DEG):
        return None
    inside = _LOWEST_KPA < best[1] < _HIGHEST_KPA
    return _Air(best[1], best[2] >= _SETTLED) if inside and best[2] >= _MOSTLY else None


def _search(evidence: Evidence, roles: Roles, sheet: Calibration) -> float:
    """The outside air that leaves least over, to a quarter of a kPa."""
    air = AIR_KPA
    for step, reach in ((2.0, None), (0.5, 2.0), (0.25, 0.5)):
        low = _LOWEST_KPA if reach is None else max(_LOWEST_KPA, air - reach)
        high = _HIGHEST_KPA if reach is None else min(_HIGHEST_KPA, air + reach)
        tried = np.arange(low, high + step / 2, step)
        air = float(tried[np.argmin([_mean(_left(evidence, roles, sheet, a)) for a in tried])])
    return air


def _mean(left: FloatArray) -> float:
    return float(np.minimum(left, _FAR_DEG).mean()) if left.size else float("inf")


def _left(evidence: Evidence, roles: Roles, sheet: Calibration, air: float) -> FloatArray:
    """Degrees that a sheet leaves over of scheduled, or of delivered where that is all there is."""
    role = roles.by_signal[_PRESSURE]
    moved = replace(role, offset=role.offset + air - AIR_KPA)
    trial = Roles({**roles.by_signal, _PRESSURE: moved}, units=roles.units)
    asked = _SCHEDULED if roles.get(_SCHEDULED) else _DELIVERED
    times = evidence.log.times(roles.by_signal[asked].channel)
    inputs = SomeRows(LogInputs(evidence.log, trial, times), max(1, times.size // _ROWS))
    wanted = inputs.signal(asked, "deg")
    if wanted is None:
        return np.zeros(0)
    if asked == _SCHEDULED:
        given = map_advance(sheet, inputs)[0]
    else:
        given = replay(sheet, inputs).delivered
    left: FloatArray = np.abs(wanted - given)
    return left[np.isfinite(left)]
