"""What can be readings of a timing light: how many, and between which numbers."""

from collections.abc import Mapping

import numpy as np

from tuneledger.arrays import FloatArray, IntArray
from tuneledger.errors import Fault, LogError
from tuneledger.logs.delimited.table import Table
from tuneledger.logs.model import Channel
from tuneledger.wording import quantity, visible

NAMES = ("rpm", "commanded", "observed")
UNITS = {"rpm": "rpm", "commanded": "deg", "observed": "deg"}
MOST_DEG = 90.0
_SLOWEST_RPM, _FASTEST_RPM = 50.0, 25000.0
_MOST_ROWS = 1000  # nobody reads so many by eye, and each is held against every other


def keep_to_readings(table: Table) -> None:
    """LogError where a table has more rows than anybody reads."""
    if table.lines.size <= _MOST_ROWS:
        return
    raise LogError(
        Fault(
            f"{table.lines.size} rows: this is a log, and no table of readings",
            file=table.file,
            expected=f"at most {_MOST_ROWS} readings; no option lets more in",
            do="Write one row for each steady speed that was read; a log is for `tuneledger look`.",
        )
    )


def keep_to_what_can_be(
    table: Table, kept: Mapping[str, FloatArray], rows: IntArray, found: Mapping[str, Channel]
) -> None:
    """LogError where a number can be none of an engine.

    kept: the usable readings by name, in rpm and degrees; rows: which of the table's they are
    """
    faults = []
    for name in NAMES:
        values = kept[name]
        if name == "rpm":
            wrong = (values < _SLOWEST_RPM) | (values > _FASTEST_RPM)
            expected = f"{_SLOWEST_RPM:.0f} to {_FASTEST_RPM:.0f} rpm"
        else:
            wrong = np.abs(values) > MOST_DEG
            expected = f"at most {MOST_DEG:.0f}° before or after top dead centre"
        if wrong.any():
            row = int(np.flatnonzero(wrong)[0])
            faults.append(
                Fault(
                    f"{quantity(float(values[row]), UNITS[name])} cannot be the {name} value",
                    file=table.file,
                    place=f"line {table.lines[rows[row]]}, column '{visible(found[name].name)}'",
                    expected=expected,
                    do="Put the number or the unit right, or say which column it is with "
                    f"--{name}.",
                )
            )
    if faults:
        raise LogError(faults)
