"""What the commands that read a stranger's files have in common."""

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from tuneledger.logs.limits import Limits

PIPED = Path("-")


def limits(*, large: bool) -> "Limits":
    """The limits on files: the usual ones, or tenfold where somebody trusts the file."""
    from tuneledger.logs.limits import USUAL

    return USUAL.raised() if large else USUAL


def given(files: Sequence[Path]) -> list[Path]:
    """The files that have a place of their own, which no output may take."""
    return [path for path in files if path != PIPED]
