"""The timing light: does the crank get what the ECU commands, and if not, is it angle or time?"""

from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping

    from tuneledger.light.fit import Fit

__all__ = ["timing_light"]


def timing_light(path: Path | str, *, columns: "Mapping[str, str] | None" = None) -> "Fit":
    """Read a table of timing-light readings and fit offset and delay.

    columns: "rpm", "commanded" or "observed" → its column, where the file's words do not tell
    Raises LogError where the table cannot be used.
    """
    from tuneledger.light.fit import fit_readings
    from tuneledger.light.readings import open_readings

    return fit_readings(open_readings(path, columns=columns))
