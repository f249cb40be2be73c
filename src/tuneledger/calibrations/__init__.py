"""Calibration sheets: what an ECU is meant to do, read, checked, addressed by paths and written.

Names are loaded when they are first asked for, so that telling a sheet from a log stays cheap.
"""

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from tuneledger.calibrations.detect import looks_like_sheet
    from tuneledger.calibrations.model import Calibration
    from tuneledger.calibrations.open import open_calibration

__all__ = ["Calibration", "looks_like_sheet", "open_calibration"]

_HOMES = {"Calibration": "model", "looks_like_sheet": "detect", "open_calibration": "open"}


def __getattr__(name: str) -> Any:
    if name not in _HOMES:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(import_module(f"{__name__}.{_HOMES[name]}"), name)
