"""In which unit a channel must be read for a sheet's own corrections to come out.

57 to 98 may be the Celsius of a hot intake or the Fahrenheit of a mild day: numbers and label alone
cannot always tell. A sheet can. Where its correction is not what was delivered, read one way, and
is what was delivered, row by row, read another way, the whole course of it speaks for that way.

Only what appears and fits speaks. In some unit or other nearly any correction falls silent, and
silence comes out wherever the ECU does not act: a guard that was switched off would bend the label
of the channel it watches. So what a correction posts in the other unit has to be seen, in most of
the rows in which it posts it, against the sheet without that correction.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

import numpy as np

from tuneledger.arrays import BoolArray, FloatArray
from tuneledger.calibrations.model import Calibration, readings
from tuneledger.evaluate.replay import replay
from tuneledger.record import record
from tuneledger.roles.evidence import Evidence
from tuneledger.roles.inputs import LogInputs
from tuneledger.roles.model import Role, Roles
from tuneledger.roles.relations.outcome import so_far
from tuneledger.roles.values import Reading, ways_to_read

_ROWS = 1500
_CLOSE_DEG = 0.4
# Shares of the rows that a sheet gives right: enough to ask no further, what another unit has to
# reach, and by how much it has to do better than the first reading and than any third.
_FITS, _SETTLES, _BETTER = 0.9, 0.95, 0.2
# A reading under which nothing acts any more explains nothing: the correction has to move, and of
# the rows in which it posts something so many have to come right that would not without it.
_MOVES_DEG = 1.0
_SEEN, _FEWEST_SEEN = 0.8, 20


@record(eq=False)
class _Try:
    """One channel read another way, and the share of rows that a sheet then gives right."""

    role: Role
    reading: Reading
    right: float
    named: tuple[str, ...]


def weigh(evidence: Evidence, sheets: Sequence[Calibration]) -> None:
    """Read one channel in another unit, where that alone makes a sheet come out."""
    roles = so_far(evidence)
    if not sheets or roles.get("delivered advance") is None:
        return
    as_read = 0.0
    for sheet in sheets:
        as_read = max(as_read, rows_right(evidence, roles, sheet)[0])
        if as_read >= _FITS:
            return
    tried = sorted(_tries(evidence, roles, sheets), key=lambda one: -one.right)
    if not tried or tried[0].right < max(_SETTLES, as_read + _BETTER):
        return
    best = tried[0]
    if any(o.right > best.right - _BETTER and not _same(o.reading, best.reading) for o in tried):
        return
    channel = next(
        i for i, facts in enumerate(evidence.facts) if facts.channel == best.role.channel
    )
    evidence.readings[channel, best.role.signal] = best.reading
    names = " and ".join(f"'{name}'" for name in best.named)
    reason = f"only in {best.reading.unit} does {names} of the sheet come out as delivered"
    evidence.add(channel, best.role.signal, 1.0, reason)


def _same(one: Reading, other: Reading) -> bool:
    return (one.scale, one.offset) == (other.scale, other.offset)


def _tries(evidence: Evidence, roles: Roles, sheets: Sequence[Calibration]) -> Iterator[_Try]:
    for sheet in sheets:
        for signal, names in _read_by(sheet).items():
            role = roles.get(signal)
            if role is None:
                continue
            for reading in _other_ways(evidence, role):
                changed = replace(
                    role, unit=reading.unit, scale=reading.scale, offset=reading.offset
                )
                trial = Roles({**roles.by_signal, signal: changed})
                right, moved = rows_right(evidence, trial, sheet)
                named = tuple(name for name in names if moved.get(name, 0.0) >= _MOVES_DEG)
                if named and _seen(evidence, trial, sheet, named):
                    yield _Try(role, reading, right, named)


def _read_by(sheet: Calibration) -> dict[str, list[str]]:
    """Signal → the corrections that read it, of those that are switched on."""
    out: dict[str, list[str]] = {}
    for correction in sheet.spark.correction:
        if correction.enabled:
            for name in {r.signal for r in readings(correction) if r.signal}:
                out.setdefault(name, []).append(correction.id)
    return out


def _other_ways(evidence: Evidence, role: Role) -> Iterator[Reading]:
    """Other units of its kind in which a channel's numbers may be; none where somebody said it."""
    facts = next(f for f in evidence.facts if f.channel == role.channel)
    if facts.channel.name in evidence.house.told:
        return
    symbol = facts.unit.symbol if facts.unit else None
    for reading in ways_to_read(role.signal, symbol, evidence.house):
        other = (reading.scale, reading.offset) != (role.scale, role.offset)
        if other and reading.relabelled != "sign":
            yield reading


def _seen(evidence: Evidence, roles: Roles, sheet: Calibration, named: Sequence[str]) -> bool:
    """Whether the log shows what these corrections post, where they post it."""
    on, off = (
        _played(evidence, roles, sheet, switched) for switched in ({}, dict.fromkeys(named, False))
    )
    if on is None or off is None:
        return False
    posted = np.abs(on.delivered - off.delivered) > 2.0 * _CLOSE_DEG
    shown = posted & on.right & ~off.right
    return int(shown.sum()) >= _FEWEST_SEEN and bool(shown.sum() >= _SEEN * posted.sum())


@record(eq=False)
class _Played:
    """What a sheet makes of some rows, where that is what was delivered, and what it posts."""

    delivered: FloatArray
    right: BoolArray
    entries: Mapping[str, FloatArray]


def _played(
    evidence: Evidence, roles: Roles, sheet: Calibration, switched: Mapping[str, bool]
) -> _Played | None:
    """None where delivered is nowhere known."""
    times = evidence.log.times(roles.by_signal["delivered advance"].channel)
    inputs = SomeRows(LogInputs(evidence.log, roles, times), max(1, times.size // _ROWS))
    delivered = inputs.signal("delivered advance", "deg")
    if delivered is None or not np.isfinite(delivered).any():
        return None
    start = inputs.signal("scheduled advance", "deg")
    played = replay(sheet, inputs, start=start, switched=switched)
    known = np.isfinite(delivered)
    right = np.abs(played.delivered - delivered)[known] <= _CLOSE_DEG
    return _Played(played.delivered[known], right, played.entries)


def rows_right(
    evidence: Evidence, roles: Roles, sheet: Calibration
) -> tuple[float, dict[str, float]]:
    """The share of rows in which a sheet gives what was delivered, and by how many degrees each of
    its corrections moves on the way."""
    played = _played(evidence, roles, sheet, {})
    if played is None:
        return 0.0, {}
    moved = {name: float(np.ptp(np.nan_to_num(e))) for name, e in played.entries.items()}
    return float(played.right.mean()), moved


class SomeRows:
    """Inputs in one of so many rows: enough to see what a sheet makes of them."""

    def __init__(self, whole: LogInputs, every: int) -> None:
        self._whole, self._every = whole, every

    @property
    def times(self) -> FloatArray:
        return self._whole.times[:: self._every]

    def signal(self, name: str, unit: str | None) -> FloatArray | None:
        return self._some(self._whole.signal(name, unit))

    def channel(self, name: str, unit: str | None) -> FloatArray | None:
        return self._some(self._whole.channel(name, unit))

    def _some(self, values: FloatArray | None) -> FloatArray | None:
        return None if values is None else values[:: self._every]
