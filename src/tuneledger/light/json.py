"""The timing-light answer for machines: the contract's keys in the contract's order."""

from typing import Any

from tuneledger.light.fit import Fit
from tuneledger.light.says import do, says
from tuneledger.statement.json import rounded

FORMAT = "tuneledger-light/1"


def as_json(fit: Fit) -> dict[str, Any]:
    """Plain values. What too few readings leave open is null; degrees to 0.001, delays to 0.01."""
    return {
        "format": FORMAT,
        "offset_deg": rounded(fit.offset_deg, 3),
        "offset_interval_deg": _interval(fit.offset_interval_deg, 3),
        "delay_us": rounded(fit.delay_us, 2),
        "delay_interval_us": _interval(fit.delay_interval_us, 2),
        "residual_deg": rounded(fit.residual_deg, 3),
        "outliers": list(fit.outlier_rows),
        "says": says(fit),
        "do": do(fit),
    }


def _interval(interval: tuple[float, float] | None, places: int) -> list[float | None] | None:
    return None if interval is None else [rounded(end, places) for end in interval]
