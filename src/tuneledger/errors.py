"""One family of errors, written for the person who has to mend the input.

An error carries `Fault` records (data, not prose), so that the terminal, JSON and the desk print
the same thing. `exit_status` is the contract's: 2 input not usable, 3 cannot tell.
"""

from collections.abc import Sequence

from tuneledger.record import record


@record
class Fault:
    """One thing that is wrong, and where.

    `found` and `expected` are plain phrases; `place` is a path in a sheet
    (`spark.correction[2].axes[0].at[3]`), or `row 12, column 'Rev'` in a log.
    """

    found: str
    file: str | None = None
    place: str | None = None
    expected: str | None = None
    do: str | None = None

    def __str__(self) -> str:
        where = ": ".join(part for part in (self.file, self.place) if part)
        text = f"{where}: {self.found}" if where else self.found
        if self.expected:
            text += f"; expected {self.expected}"
        return f"{text}. {self.do}" if self.do else text


class TuneledgerError(Exception):
    """Base of every error that this program raises on purpose."""

    exit_status = 2

    def __init__(self, faults: Fault | Sequence[Fault]) -> None:
        self.faults: tuple[Fault, ...] = (faults,) if isinstance(faults, Fault) else tuple(faults)
        super().__init__("\n".join(str(fault) for fault in self.faults))


class UsageError(TuneledgerError):
    """The call itself cannot be carried out: a file given twice, no log among the files."""


class LogError(TuneledgerError):
    """A log that cannot be used: not text, no time, no samples."""


class SheetError(TuneledgerError):
    """A calibration sheet with faults; all of them, not the first."""


class CalibrationError(TuneledgerError):
    """A calibration in an open standard's form (A2L, image, CDF) that cannot be used."""


class RolesError(TuneledgerError):
    """A roles file that cannot be used, or that names a channel which the log lacks."""


class ChangeError(TuneledgerError):
    """A change file that cannot be used, or a change that has no place in the sheet."""


class OutputError(TuneledgerError):
    """An output could not be written; nothing of it was left behind."""
