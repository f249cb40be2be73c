"""A log as evaluation sees it: any signal or channel on one time base, in any unit asked for."""

import numpy as np

from tuneledger.arrays import FloatArray, each_once
from tuneledger.evaluate.model import Ends
from tuneledger.logs.model import Channel, Log, Series
from tuneledger.logs.raster import held_every
from tuneledger.roles import fills
from tuneledger.roles.model import Role, Roles
from tuneledger.roles.values import AIR_KPA
from tuneledger.signals import SIGNALS
from tuneledger.units import conversion, convert, parse_unit

# Signals that take steps: between two samples they are what they were, not something between.
_STEPPED = ("gear", "idle speed target")
_ABSOLUTE = ("manifold absolute pressure", "barometric pressure")
# A gap is long where it is many times the channel's own raster, and long enough to matter.
_GAP_STEPS, _GAP_S = 5.0, 1.0
_FEW_VALUES = 12


class LogInputs:
    """Implements `evaluate.model.Inputs` over a log and its roles.

    A channel of the same rows is taken as it is. A slower one is joined by straight lines between
    its own samples, or held where it takes steps (switches, small counters, channels that repeat
    their value); NaN across long gaps. Before its first sample and after its last it stays what it
    was for as long as its samples are apart, since no other was due; further out it is NaN.
    Asking for a unit of another kind is a ValueError, which evaluation takes for "not there".
    Two threads may ask at a time: at worst both work out the same numbers, and one copy stays.
    """

    def __init__(self, log: Log, roles: Roles, times: FloatArray) -> None:
        self._log = log
        self._roles = roles
        self._times = times
        self._numbers: dict[tuple[int, bool], FloatArray] = {}
        self._signals: dict[tuple[str, str | None], FloatArray] = {}
        self._filled: dict[str, str] = {}

    @property
    def times(self) -> FloatArray:
        return self._times

    @property
    def notes(self) -> tuple[str, ...]:
        """What was taken as missing in the channels read so far, a sentence each, in file order."""
        return tuple(self._filled[c.name] for c in self._log.channels if c.name in self._filled)

    def signal(self, name: str, unit: str | None) -> FloatArray | None:
        """A signal in `unit`, or in its own unit where None. None where the log has none."""
        if (name, unit) not in self._signals:
            found = self._signal(name, unit)
            if found is None:
                return None
            found.setflags(write=False)
            self._signals[name, unit] = found
        return self._signals[name, unit]

    def ends(self, name: str, unit: str | None) -> Ends | None:
        """Where and at what a signal's channel ends, in `unit`; None where it does not."""
        role = self._roles.get(name)
        if role is None or role.unsure is None or role.unsure.end is None:
            return None
        own = SIGNALS[name].unit
        at = float(convert(np.array([role.unsure.end]), own, unit or own)[0])
        return Ends(role.unsure.rows(self._times), at, role.unsure.beyond == "high")

    def channel(self, name: str, unit: str | None) -> FloatArray | None:
        """A channel by its name in `unit`, or as logged where None. None where the log has none.

        Where the label is missing or cannot be read, the numbers are taken to be in `unit`.
        """
        channel = self._log.find(name)
        if channel is None:
            return None
        numbers = self._on_times(channel)
        true = self._true_unit(channel)
        label = parse_unit(true)
        if unit is None or label is None or label.kind in ("number", "state"):
            return numbers
        return convert(numbers, true, unit)

    def _signal(self, name: str, unit: str | None) -> FloatArray | None:
        if name == "time":
            return convert(self._times, "s", unit or "s")
        role = self._roles.get(name)
        if role is None:
            return None
        own = role.read(self._on_times(role.channel, stepped=name in _STEPPED))
        if role.unsure is not None and role.unsure.end is None:
            own = np.where(role.unsure.rows(self._times), np.nan, own)
        if unit is None:
            return own
        target = parse_unit(unit)
        if target is not None and target.gauge and name in _ABSOLUTE:
            own = own - self._outside_air()
        return convert(own, SIGNALS[name].unit, unit)

    def _true_unit(self, channel: Channel) -> str:
        """What the numbers are in: what somebody said, what the values showed, what it says."""
        said = self._roles.units.get(channel.name)
        if said is not None:
            return said
        role = self._roles.of(channel)
        if role is not None and role.relabelled == "unit" and _same_kind(role, channel):
            return role.unit
        return channel.unit

    def _outside_air(self) -> float:
        """The outside air in kPa: as logged, else the standard atmosphere."""
        role = self._roles.get("barometric pressure")
        if role is None:
            return AIR_KPA
        logged = float(np.nanmedian(role.read(self._log.sample(role.channel))))
        return logged if np.isfinite(logged) else AIR_KPA

    def _on_times(self, channel: Channel, *, stepped: bool = False) -> FloatArray:
        key = channel.column, stepped
        if key not in self._numbers:
            numbers = self._brought(channel, stepped)
            numbers.setflags(write=False)
            self._numbers[key] = numbers
        return self._numbers[key]

    def _brought(self, channel: Channel, stepped: bool) -> FloatArray:
        values, own_times = self._own(channel), self._log.times(channel)
        same = own_times is self._times or (
            own_times.size == self._times.size and bool(np.array_equal(own_times, self._times))
        )
        if same and bool(np.isfinite(values).all()):
            return values
        rows = np.flatnonzero(np.isfinite(values)).astype(np.int64)
        series = Series(own_times[rows], values[rows], rows)
        held = stepped or self._steps(channel, series)
        out = series.on(self._times, held=held)
        out[_in_long_gap(series, self._times)] = np.nan
        return _held_at_the_ends(out, series, self._times)

    def _own(self, channel: Channel) -> FloatArray:
        """The channel's numbers, NaN where the file has nothing or its logger has filled."""
        values = self._log.values(channel)
        role = self._roles.of(channel)
        if role is None:
            return values
        values, fill = fills.cleared(values, role)
        if fill is not None:
            self._filled[channel.name] = fills.note(channel.name, fill, role.signal)
        return values

    def _steps(self, channel: Channel, series: Series) -> bool:
        """Whether a slower channel stays what it was between two samples."""
        if self._log.columns.words(channel.column):
            return True  # on and off, or other words
        distinct = each_once(series.values[:5000])
        whole = bool(np.all(distinct == np.rint(distinct)))
        if whole and distinct.size <= _FEW_VALUES:
            return True
        return series.values.size > 2 and held_every(series.values) > 1


def _same_kind(role: Role, channel: Channel) -> bool:
    return conversion(role.unit, channel.unit or role.unit) is not None


def _held_at_the_ends(out: FloatArray, series: Series, times: FloatArray) -> FloatArray:
    """The same, with the first and the last sample held where the next is not overdue."""
    if series.times.size < 2:
        return out
    apart = float(np.median(np.diff(series.times)))
    first, last = series.times[0], series.times[-1]
    out[(times < first) & (times > first - apart)] = series.values[0]
    out[(times > last) & (times < last + apart)] = series.values[-1]
    return out


def _in_long_gap(series: Series, times: FloatArray) -> np.ndarray[tuple[int], np.dtype[np.bool_]]:
    """Which times lie in a hole of the series that is far longer than its raster."""
    if series.times.size < 2:
        return np.zeros(times.shape, dtype=np.bool_)
    steps = np.diff(series.times)
    limit = max(_GAP_S, _GAP_STEPS * float(np.quantile(steps, 0.9)))
    after = np.clip(np.searchsorted(series.times, times, side="left"), 1, steps.size)
    inside = (times > series.times[after - 1]) & (times < series.times[after])
    return np.asarray(inside & (steps[after - 1] > limit))
