"""The statement: the whole result, and the only input of every presentation."""

from typing import Literal

from tuneledger.calibrations.model import Calibration
from tuneledger.explain.experiments.model import Experiment
from tuneledger.explain.loading import Loading
from tuneledger.explain.model import Cause, Need, Running
from tuneledger.ledger.model import Episode, Ledger
from tuneledger.logs.model import Log
from tuneledger.record import record
from tuneledger.roles.model import Roles

FORMAT = "tuneledger-statement/1"

Verdict = Literal["agrees", "expected", "explained", "unexplained", "cannot tell"]


@record
class SuppliedSheet:
    """A calibration as it was handed over, with its file's name."""

    file: str
    calibration: Calibration


@record
class LogAccount:
    """One log of the statement with its roles and, where it could be drawn up, its ledger."""

    log: Log
    roles: Roles
    ledger: Ledger | None


@record
class Statement:
    """Logs and sheets in, this out. Field meanings are those of CONTRACT section 3.

    loading: what loading the supplied revision would change, where another is in the car
    """

    logs: tuple[LogAccount, ...]
    sheets: tuple[SuppliedSheet, ...]
    tolerance_deg: float
    verdict: Verdict
    headline: str
    running: Running | None
    episodes: tuple[Episode, ...]
    causes: tuple[Cause, ...]
    notes: tuple[str, ...]
    needs: tuple[Need, ...]
    loading: Loading | None = None
    experiments: tuple[Experiment, ...] = ()

    @property
    def judged_beyond_deg(self) -> float:
        """The tolerance, wider where a log is noisy."""
        noisy = (log.ledger.tolerance for log in self.logs if log.ledger is not None)
        return max((self.tolerance_deg, *noisy))

    def sheet(self, file: str | None) -> SuppliedSheet | None:
        """The supplied sheet of this file, None where there is none."""
        return next((sheet for sheet in self.sheets if sheet.file == file), None)

    def owner(self, cause: Cause) -> SuppliedSheet | None:
        """The sheet that has a cause's correction so: by its file, since two revisions may share a
        name; by the name only where the cause has no file."""
        if cause.file is not None:
            return self.sheet(cause.file)
        named = [s for s in self.sheets if s.calibration.revision == cause.revision]
        having = (s for s in named if s.calibration.spark.find(cause.correction or ""))
        return next(having, next(iter(named), None))

    @property
    def raised_under_load(self) -> bool:
        """Delivered stands above scheduled under load: comes first, and never ends in status 0."""
        return any(cause.raises_under_load for cause in self.causes)

    @property
    def exit_status(self) -> int:
        if self.verdict == "cannot tell":
            return 3
        if self.verdict in ("agrees", "expected") and not self.raised_under_load:
            return 0
        return 1
