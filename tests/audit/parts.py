"""Corrections of the kinds that checks look at."""

from typing import Any

from tests.audit.sheetlike import (
    INTAKE,
    OIL,
    SPEED,
    THROTTLE,
    sheet,
)
from tuneledger.calibrations.model import Calibration

WET = {"channel": "Wet switch", "is": "on"}


GOVERNED = {"signal": "idle speed target", "minus": "engine speed", "unit": "rpm"}


IDLE = [THROTTLE | {"below": 2.0, "release": 3.0}, SPEED | {"below": 1600.0, "release": 1700.0}]


def amount(degrees: float, *when: dict[str, Any], **keys: Any) -> dict[str, Any]:
    return {"amount": degrees, "when": list(when)} | keys


def along(
    reading: dict[str, Any], at: list[float], values: list[Any], **keys: Any
) -> dict[str, Any]:
    return {"axes": [reading | {"at": at}], "values": values} | keys


def governor(
    values: list[float], reading: dict[str, Any] = GOVERNED, **keys: Any
) -> dict[str, Any]:
    return (
        along(reading, [-200.0, -100.0, 0.0, 100.0, 200.0], values, reason="idle speed", when=IDLE)
        | keys
    )


def guard(degrees: float, **keys: Any) -> dict[str, Any]:
    return amount(degrees, OIL | {"below": 120.0, "held": 0.3}, reason="sensor guard", **keys)


def revision(name: str, *corrections: dict[str, Any], **parts: Any) -> Calibration:
    return sheet(*corrections, **parts).model_copy(update={"revision": name})


HOT_AIR = along(INTAKE, [20.0, 40.0, 60.0, 80.0], [0.0, 0.0, -2.0, -5.0], reason="air temperature")
