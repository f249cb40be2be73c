"""How much the desk takes in."""

from dataclasses import field

from tuneledger.bounded import are_raised, at_most
from tuneledger.logs.limits import GIGABYTE, USUAL, Limits, current
from tuneledger.record import record


@record
class DeskLimits:
    """Bounds on what is dropped.

    file:  bytes of one file
    files: in one case, those out of an archive counted each
    cases: on the desk at once
    logs:  bounds on what a file becomes when it is unpacked and read
    """

    file: int = 2 * GIGABYTE
    files: int = 100
    cases: int = 40
    logs: Limits = field(default=USUAL)


DESK_USUAL = DeskLimits()


def desk_limits() -> DeskLimits:
    """Those that hold now: the usual ones, or all of them raised (`bounded`)."""
    if not are_raised():
        return DESK_USUAL
    usual = DESK_USUAL
    return DeskLimits(at_most(usual.file), at_most(usual.files), at_most(usual.cases), current())
