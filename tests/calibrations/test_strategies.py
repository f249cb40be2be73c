"""The random calibrations that other tests rest on do use everything that a sheet can say."""

from collections import Counter
from contextlib import suppress

from hypothesis import Phase, given, settings

from tests.strategies import CHANNELS, SIGNALS, calibrations
from tuneledger.calibrations.model import (
    EFFECTS,
    AnyOf,
    Calibration,
    Comparison,
    CorrectionActive,
    Part,
    Ramp,
    Reading,
    Table,
    readings,
)

READS = ("signal", "channel", "since", "unit", "minus", "over", "rate")
COMPARES = ("above", "below", "between", "is_", "release", "held", "linger")
CORRECTS = ("weight", "until", "ramp", "expected", "logged_as", "range", "amount", "values")


def parts(value: object) -> list[Part]:
    """Every part of a calibration, itself first."""
    found = [value] if isinstance(value, Part) else []
    inside = (
        [getattr(value, name) for name in type(value).model_fields]
        if isinstance(value, Part)
        else value
        if isinstance(value, tuple)
        else ()
    )
    return found + [part for item in inside for part in parts(item)]


def features(calibration: Calibration) -> set[str]:
    found: set[str] = {f"effect {c.effect}" for c in calibration.spark.correction}
    for part in parts(calibration):
        keys = COMPARES if isinstance(part, Comparison) else ()
        keys += READS if isinstance(part, Reading) else ()
        keys += CORRECTS if isinstance(part, Table) else ()
        found |= {key for key in keys if getattr(part, key, None) is not None}
        if isinstance(part, Table):
            found.add(f"{len(part.axes)} axes")
            found |= {"?"} if part.values and "'?'" in str(part.values) else set()
        if isinstance(part, AnyOf | CorrectionActive | Ramp):
            found.add(type(part).__name__)
    found |= {"power off" for c in calibration.spark.correction if c.until == "power off"}
    found |= {"limits"} if calibration.spark.limits else set()
    found |= {"includes"} if calibration.spark.scheduled_includes else set()
    return found


class AllSeenError(Exception):
    """Every feature was drawn: no more examples are needed."""


def test_every_feature_of_a_sheet_is_drawn() -> None:
    """How many examples that takes depends on what else this process has imported, since numbers
    are drawn out of it too."""
    seen: Counter[str] = Counter()
    wanted = {*READS, *COMPARES, *CORRECTS, *(f"effect {name}" for name in EFFECTS)}
    wanted |= {f"{n} axes" for n in range(4)} | {"?", "AnyOf", "CorrectionActive", "Ramp"}
    wanted |= {"power off", "limits", "includes"}

    @settings(
        max_examples=1500, database=None, derandomize=True, phases=[Phase.generate], deadline=None
    )
    @given(calibrations())
    def draw(calibration: Calibration) -> None:
        seen.update(features(calibration))
        if wanted <= seen.keys():
            raise AllSeenError

    with suppress(AllSeenError):
        draw()
    assert {name for name in wanted if not seen[name]} == set()


@settings(max_examples=20, deadline=None)
@given(calibrations(signals={"engine speed": (0, 8000)}, channels={"Slip": (0, 20)}))
def test_only_the_given_signals_and_channels_are_read(calibration: Calibration) -> None:
    for reading in readings(calibration):
        assert {reading.signal, reading.channel} <= {"engine speed", "Slip", None}
        assert {reading.minus, reading.over} <= {"engine speed", "Slip", None}
    assert set(SIGNALS) | set(CHANNELS)
