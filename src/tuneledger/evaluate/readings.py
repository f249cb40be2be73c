"""Readings: what an axis or a condition takes from the log, and what it makes of it."""

from collections.abc import Iterator, Mapping

import numpy as np

from tuneledger.arrays import FloatArray
from tuneledger.calibrations.model import Axis, Comparison, Part, Reading, readings
from tuneledger.evaluate.memory import change_per_second, seconds_since
from tuneledger.evaluate.model import Inputs
from tuneledger.evaluate.truth import Truth
from tuneledger.signals import SIGNALS
from tuneledger.units import convert

NEVER = np.inf  # what `since` gives before its condition has ever turned true

_NONE: Mapping[str, Truth] = {}


def read(
    reading: Reading, inputs: Inputs, active: Mapping[str, Truth] = _NONE
) -> FloatArray | None:
    """A reading at every sample, in its unit; None where the log lacks something it needs.

    active: truths of the corrections that stand earlier in the sheet, for a `since`

    - `minus` and `over` name a signal of the vocabulary, else a channel. `minus` is read in the
      reading's unit; so is `over` where it can be, else in its own unit (rpm over km/h).
      A ratio over 0 is NaN.
    - `rate` is taken last: (now − that many seconds ago) / seconds, NaN in the first so many
      seconds, with a straight line between samples.
    - `since` counts in seconds, to the microsecond, unless a unit is given; it is `NEVER` before
      the condition has first turned true, and NaN where it may have turned true unseen. It stands
      alone: nothing is taken from it or divided.
    - A unit of another kind than the log's is as good as no input: None.
    - Where a signal's channel stands at its own end (`ends` of its inputs) and the reading makes a
      difference beyond that, it is NaN.
    """
    if reading.since is not None:
        return _since(reading, inputs, active)
    values = _named(reading.signal, reading.channel, reading.unit, inputs)
    if values is not None:
        values = _short_of_its_end(reading, values, inputs)
    if reading.minus is not None:
        values = _minus(values, _other(reading.minus, reading.unit, inputs))
    if reading.over is not None:
        values = _ratio(values, _divisor(reading.over, reading.unit, inputs))
    if reading.rate is not None and values is not None:
        values = change_per_second(values, inputs.times, reading.rate)
    return values


def goes_beyond(reading: Reading, end: float, *, high: bool) -> bool:
    """Whether it makes a difference to a reading how far beyond an end its signal is.

    A table holds its last value outside, and a threshold short of the end is passed in any case.
    """
    if reading.minus or reading.over or reading.rate or reading.since:
        return True
    if isinstance(reading, Axis):
        last = float(reading.points[-1 if high else 0])
        return last > end if high else last < end
    if not isinstance(reading, Comparison):
        return True
    stated = None if isinstance(reading.is_, str) else reading.is_
    given = (reading.above, reading.below, *(reading.between or ()), reading.release, stated)
    return any(x >= end if high else x <= end for x in given if x is not None)


def _short_of_its_end(reading: Reading, values: FloatArray, inputs: Inputs) -> FloatArray:
    """NaN where the signal's channel ends, if the reading goes beyond."""
    asked = getattr(inputs, "ends", None)
    ends = asked(reading.signal, reading.unit) if asked and reading.signal else None
    if ends is None or not goes_beyond(reading, ends.at, high=ends.high):
        return values
    return np.where(ends.rows, np.nan, values)


def logged_degrees(channel: str, inputs: Inputs) -> FloatArray | None:
    """What a channel that carries a contribution holds, in degrees; None where it is not there."""
    return _named(None, channel, "deg", inputs)


def missing_names(part: Part, inputs: Inputs) -> tuple[str, ...]:
    """Names of the signals and channels below a part of a sheet that cannot be read, each once."""
    names = [name for reading in readings(part) for name in _missing_of(reading, inputs)]
    return tuple(dict.fromkeys(names))


def _missing_of(reading: Reading, inputs: Inputs) -> Iterator[str]:
    own = reading.signal or reading.channel
    if own and _named(reading.signal, reading.channel, reading.unit, inputs) is None:
        yield own
    if reading.minus and _other(reading.minus, reading.unit, inputs) is None:
        yield reading.minus
    if reading.over and _divisor(reading.over, reading.unit, inputs) is None:
        yield reading.over


def _named(
    signal: str | None, channel: str | None, unit: str | None, inputs: Inputs
) -> FloatArray | None:
    try:
        if channel is not None:
            return inputs.channel(channel, unit)
        values = inputs.signal(signal or "", unit)
        if values is None and signal == "time":
            values = convert(inputs.times, "s", unit or "s")
    except ValueError:  # the log has it in a unit of another kind
        return None
    return values


def _other(name: str, unit: str | None, inputs: Inputs) -> FloatArray | None:
    if name in SIGNALS:
        return _named(name, None, unit, inputs)
    return _named(None, name, unit, inputs)


def _divisor(name: str, unit: str | None, inputs: Inputs) -> FloatArray | None:
    values = _other(name, unit, inputs)
    return values if values is not None or unit is None else _other(name, None, inputs)


def _minus(values: FloatArray | None, other: FloatArray | None) -> FloatArray | None:
    return None if values is None or other is None else values - other


def _ratio(values: FloatArray | None, other: FloatArray | None) -> FloatArray | None:
    if values is None or other is None:
        return None
    out: FloatArray = np.full(values.shape, np.nan)
    return np.divide(values, other, out=out, where=other != 0.0)


def _since(reading: Reading, inputs: Inputs, active: Mapping[str, Truth]) -> FloatArray:
    from tuneledger.evaluate.conditions import truth_of  # they hold one another

    assert reading.since is not None
    elapsed = seconds_since(truth_of(reading.since, inputs, active), inputs.times)
    return elapsed if reading.unit is None else convert(elapsed, "s", reading.unit)
