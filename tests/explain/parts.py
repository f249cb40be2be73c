"""Corrections, moments and drives that several tests put into a sheet or a run."""

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

import numpy as np
from scipy.interpolate import RegularGridInterpolator

from tests.runs import MAP, PRESSURES, SPEEDS, Run, climb
from tuneledger.arrays import BoolArray, FloatArray
from tuneledger.statement.model import Statement, SuppliedSheet

AIR = "intake air temperature"
AT = (20.0, 40.0, 60.0, 80.0)
DEG = (0.0, 0.0, -3.0, -6.0)
LEVER = "Lever"

# Ten seconds of the long pull of `tests.runs.climb`, at about 190 kPa.
PULL = (24.0, 34.0)


def during(run: Run, start_s: float, end_s: float) -> BoolArray:
    """Rows after one moment and before another."""
    return (run.times > start_s) & (run.times < end_s)


def pulling(run: Run, degrees: float) -> FloatArray:
    """So many degrees for the ten seconds of the long pull, nothing elsewhere."""
    return np.where(during(run, *PULL), degrees, 0.0)


def switched(correction: str, degrees: float, **more: Any) -> dict[str, Any]:
    """A correction of so many degrees while the lever is on."""
    return {
        "id": correction,
        "amount": degrees,
        "when": [{"channel": LEVER, "is": "on"}],
        **more,
    }


def closed_below(percent: float) -> dict[str, Any]:
    """The throttle counts as closed below this opening."""
    return {"signal": "throttle position", "unit": "%", "below": percent}


def governing(
    at_rpm: Sequence[float], *when: dict[str, Any], name: str = "idle-governor", **more: Any
) -> dict[str, Any]:
    """A sheet's idle governor: −6°, 0° and 5° where engine speed is so far below its target."""
    gap = {"signal": "idle speed target", "minus": "engine speed", "unit": "rpm"}
    return {
        "id": name,
        "reason": "idle speed",
        "axes": [{**gap, "at": tuple(at_rpm)}],
        "values": (-6.0, 0.0, 5.0),
        "when": list(when),
        **more,
    }


def with_lever(run: Run, rows: BoolArray | None = None) -> Run:
    """The run with the lever logged: on in the rows given, else during the long pull."""
    on = during(run, *PULL) if rows is None else rows
    return run.carry(LEVER, on.astype(float))


def oil_guard(degrees: float, **more: Any) -> dict[str, Any]:
    """A guard that takes advance while oil pressure is low."""
    return {
        "id": "oil-guard",
        "title": "Oil guard",
        "reason": "sensor guard",
        "amount": degrees,
        "when": [{"channel": "Oil gallery", "below": 200.0}],
        **more,
    }


def with_low_oil(run: Run) -> Run:
    """The run with oil pressure logged, which falls to 150 kPa for the ten seconds of the pull."""
    surge = 6.0 * np.sin(3.1 * run.times)
    return run.carry("Oil gallery", np.round(320.0 + surge - 170.0 * during(run, *PULL)))


def only(run: Run, *signals: str) -> Run:
    """The run as a poorer logger would have it: with these signals and no other."""
    return replace(run, signals={name: run.signals[name] for name in signals})


def drive(speed_rpm: FloatArray, plate_pct: FloatArray, pressure_kpa: FloatArray) -> Run:
    """Another drive of the same car, 20 rows a second; scheduled is what its map says there."""
    run = climb(speed_rpm.size / 20.0)
    surface = RegularGridInterpolator((PRESSURES, SPEEDS), np.array(MAP))
    points = np.column_stack([np.clip(pressure_kpa, 40, 200), np.clip(speed_rpm, 900, 7000)])
    signals = {
        **run.signals,
        "engine speed": speed_rpm,
        "throttle position": plate_pct,
        "manifold absolute pressure": pressure_kpa,
    }
    return replace(run, signals=signals, scheduled=np.round(surface(points), 1))


def hills() -> Run:
    """Eighty seconds up and down hills, with a lever that is on three times."""
    s = np.arange(1600) / 20.0
    speed = 3600.0 + 1500.0 * np.sin(0.29 * s) + 700.0 * np.sin(0.83 * s + 1.0)
    plate = np.clip(48.0 + 40.0 * np.sin(0.41 * s + 2.0) + 15.0 * np.sin(1.3 * s), 3, 98)
    run = drive(np.round(speed), np.round(plate, 1), np.interp(plate, [0, 100], [40.0, 195.0]))
    return with_lever(run, (s % 27.0) < 12.0)


def with_spark(made: SuppliedSheet, **changed: Any) -> SuppliedSheet:
    """The sheet with some fields of its spark side changed."""
    calibration = made.calibration
    spark = calibration.spark.model_copy(update=changed)
    return replace(made, calibration=calibration.model_copy(update={"spark": spark}))


def episodes_of(causes: Sequence[Any]) -> set[int]:
    """The numbers of all episodes that any of the causes speaks for."""
    return {number for cause in causes for number in cause.episodes}


def every_episode_has_a_cause(statement: Statement) -> bool:
    return episodes_of(statement.causes) == set(range(len(statement.episodes)))
