"""What is odd about a sheet that a command has just made, told at once and not only by an audit."""

from typing import TYPE_CHECKING

from tuneledger.cli.terminal import say
from tuneledger.wording import visible

if TYPE_CHECKING:
    from tuneledger.calibrations.model import Calibration


def tell_misread_axes(calibration: "Calibration", place: str = "") -> bool:
    """Say on stderr which axes are not what their signals can be; whether there are such.

    place: only those at this place and below, as a path
    """
    import sys

    from tuneledger.audit.checks.unit_slip import misread_axes

    told = [one for one in misread_axes(calibration) if one.paths[0].startswith(place)]
    say("".join(f"{one.paths[0]}: {visible(one.says)} {one.do}\n" for one in told), sys.stderr)
    return bool(told)
