"""A temperature correction that adds when hot, or takes less the hotter it gets

**What it finds.** A correction over the temperature of coolant, intake air, oil or fuel that can
post more than 0.25° of advance when that temperature is high: coolant 100 °C, intake air 50 °C,
oil 130 °C, fuel 60 °C, or more (common practice, no source). Also one that takes advance there and
takes at least 1° less of it the hotter it gets. One that only works at a closed throttle is left
alone.

**Why it matters.** Hot mixture knocks sooner (Heywood 1988, section 9.6), so the map of a hot
engine has less to give, not more. The usual cause is a table typed from the wrong end, or a sign.

**Example.** `at = [20, 40, 60, 80]` degC with `values = [0.0, 0.0, 2.0, 5.0]`: meant was -2.0 and
-5.0; or `at = [100, 106, 114]` with `values = [-6.0, -2.0, 0.0]`, typed from the wrong end. Near
them, and right: `values = [4.0, 2.0, 0.0, 0.0]`, which adds while cold, and a warm-up retard that
fades before it is hot.

**What to do.** Turn the table or the sign round, or have it fade out before it is hot.

**When to ignore it.** A correction that gives advance to a hot engine at idle, to cool it, is
common; with a condition on a closed throttle it is not told.
"""

from collections.abc import Iterator

import numpy as np

from tuneledger.audit.model import Said
from tuneledger.audit.phrases import called
from tuneledger.audit.sheet import Audited
from tuneledger.calibrations.model import Comparison, Correction, Reading
from tuneledger.signals import SIGNALS
from tuneledger.units import convert
from tuneledger.wording import degrees, quantity

HOT = {
    "engine coolant temperature": 100.0,
    "intake air temperature": 50.0,
    "oil temperature": 130.0,
    "fuel temperature": 60.0,
}
REASONS = ("coolant temperature", "air temperature", "oil temperature")
LEAST_DEG = 0.25
FADES_DEG = 1.0
OPEN_PCT = 10.0


def check(sheet: Audited) -> Iterator[Said]:
    """Additions over a temperature that are positive when it is high."""
    for path, correction in sheet.enabled:
        if correction.effect != "add":
            continue
        for signal, hot in HOT.items():
            adds = _when_hot(correction, signal, hot)
            if adds > LEAST_DEG and _acts_then(sheet, correction, signal, hot):
                yield Said(
                    "danger",
                    (path,),
                    f"{called(correction)} adds up to {degrees(adds)} when {signal} is "
                    f"{quantity(hot, 'degC')} or more: a hot engine takes less advance, not more.",
                    "Look up the sign and from which end the table was typed.",
                    adds,
                )
                break
            fades = _fades(correction, signal, hot)
            if fades >= FADES_DEG and _acts_then(sheet, correction, signal, hot):
                yield Said(
                    "danger",
                    (path,),
                    f"{called(correction)} takes up to {degrees(fades, signed=False)} less the "
                    f"further {signal} rises beyond {quantity(hot, 'degC')}: a hot engine takes "
                    "less advance, not more.",
                    "Look up from which end the table was typed.",
                    fades,
                )
                break


def _when_hot(correction: Correction, signal: str, hot: float) -> float:
    """The most that it posts with the temperature at `hot` or more; 0 where it hangs on another."""
    for number, axis in enumerate(correction.axes):
        if _plain(axis, signal):
            points = convert(axis.points, axis.unit or "degC", "degC")
            first = min(int(np.searchsorted(points, hot)), points.size - 1)
            hottest = np.take(correction.grid, range(first, points.size), number)
            return float(np.nan_to_num(hottest, nan=-np.inf).max())
    tied = correction.reason in REASONS and any(
        isinstance(c, Comparison) and _plain(c, signal) and c.above is not None
        for c in correction.when
    )
    return float(np.nan_to_num(correction.grid).max()) if tied else 0.0


def _fades(correction: Correction, signal: str, hot: float) -> float:
    """By how much less it takes at a higher temperature than at a lower one, both `hot` or more."""
    for number, axis in enumerate(correction.axes):
        if _plain(axis, signal):
            points = convert(axis.points, axis.unit or "degC", "degC")
            lines = np.moveaxis(correction.grid, number, -1).reshape(-1, points.size)
            beyond = np.concatenate([[hot], points[points > hot]])
            taken = np.array([np.minimum(np.interp(beyond, points, one), 0.0) for one in lines])
            most = np.minimum.accumulate(np.nan_to_num(taken), axis=1)
            return float((np.nan_to_num(taken, nan=-np.inf) - most).max())
    return 0.0


def _plain(reading: Reading, signal: str) -> bool:
    return reading.signal == signal and not (reading.minus or reading.over or reading.rate)


def _acts_then(sheet: Audited, correction: Correction, signal: str, hot: float) -> bool:
    """Whether it can act when that hot, with the throttle open."""
    unit = SIGNALS[signal].unit
    then = [
        Comparison.model_construct(signal=signal, unit=unit, above=hot),
        Comparison.model_construct(signal="throttle position", unit="%", above=OPEN_PCT),
    ]
    return sheet.possible.together([*correction.when, *then])
