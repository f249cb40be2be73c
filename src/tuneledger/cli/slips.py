"""What is odd about a sheet that a command has just made, told at once and not only by an audit."""

from typing import TYPE_CHECKING

from tuneledger.cli.terminal import say
from tuneledger.wording import visible

if TYPE_CHECKING:
    from tuneledger.calibrations.model import Calibration


_TOLD = 8  # numbers; a whole table in another unit is told as well by a few


def tell_slips(calibration: "Calibration", place: str = "") -> bool:
    """Say on stderr which axes are not what their signals can be, and which degrees can hardly be.

    place: only those at this place and below, as a path
    Whether there are such.
    """
    axes = _tell_misread_axes(calibration, place)
    return _tell_degrees(calibration, place) or axes


def _tell_degrees(calibration: "Calibration", place: str) -> bool:
    """In the words of `sheet check`."""
    import sys

    from tuneledger.calibrations.plausible import beyond

    told = [one.briefly for one in beyond(calibration) if one.path.startswith(place)]
    more = [f"{len(told) - _TOLD} more like these"] if len(told) > _TOLD else []
    say("".join(f"{visible(line)}\n" for line in [*told[:_TOLD], *more]), sys.stderr)
    return bool(told)


def _tell_misread_axes(calibration: "Calibration", place: str) -> bool:
    import sys

    from tuneledger.audit.checks.unit_slip import misread_axes

    told = [one for one in misread_axes(calibration) if one.paths[0].startswith(place)]
    say("".join(f"{one.paths[0]}: {visible(one.says)} {one.do}\n" for one in told), sys.stderr)
    return bool(told)
