"""Like which supplied revision the ECU behaves: every sheet is replayed over the whole log."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from tuneledger.arrays import FloatArray
from tuneledger.evaluate.model import Contribution
from tuneledger.explain.account import Account, carry_out
from tuneledger.explain.expected import expectations
from tuneledger.explain.maps import MapCheck, check_map
from tuneledger.explain.model import Rank, Running, Span
from tuneledger.explain.sheets import LaidSheet, carried
from tuneledger.ledger.book import Book
from tuneledger.ledger.lag import shifted
from tuneledger.ledger.tolerance import local_change

# Two sheets whose misfits are this close say the same about this log.
_SAME_DEG = 0.02
# A channel and a sheet that differ in more rows than this tell different stories.
_APART_SHARE = 0.02


@dataclass(frozen=True, eq=False)
class Trial:
    """One sheet tried on one log: what it leaves of delivered, and of scheduled."""

    sheet: LaidSheet
    account: Account
    map_check: MapCheck

    @property
    def fits(self) -> bool:
        return self.account.balances and self.map_check.agrees

    @property
    def misfit(self) -> float:
        """RMS in degrees over both; infinite where nothing could be compared."""
        if not np.isfinite(self.account.misfit):
            return float("inf")
        return float(np.hypot(self.account.misfit, self.map_check.misfit))


def try_sheet(book: Book, sheet: LaidSheet, first: LaidSheet, carriers: Mapping[str, str]) -> Trial:
    """Carry out a sheet as it was handed over.

    carriers: correction id → channel of the log that carries its contribution
    """
    parts = []
    channels: dict[str, str] = {}
    for name in sheet.enabled:
        part = sheet.parts[name]
        channel = carriers.get(name)
        if channel is not None:
            channels[name] = channel
            part = _as_logged(book, sheet, part, channel)
        parts.append(part)
    account = carry_out(
        book, sheet, parts, first=first, channels=channels, expected=expectations(book, sheet)
    )
    return Trial(sheet, account, check_map(book, sheet))


def _as_logged(book: Book, sheet: LaidSheet, part: Contribution, channel: str) -> Contribution:
    """The part as its channel carries it, where the sheet cannot compute it or agrees.

    Where the two disagree the computed one stands: a channel is what the ECU did, and would make
    any sheet fit.
    """
    values = book.inputs.channel(channel, "deg")
    if values is None:
        return part
    logged = carried(part, _signed(book, values))
    if not part.computable.any():
        return logged
    both = part.computable & logged.computable & book.judged
    doubt = np.abs(sheet.doubt.get(part.correction, 0.0))
    doubt = doubt + local_change(np.nan_to_num(logged.values), 2)
    apart = np.abs(logged.values - part.values)[both] > (book.tolerance + book.slack + doubt)[both]
    return logged if both.any() and apart.mean() <= _APART_SHARE else part


def _signed(book: Book, values: FloatArray) -> FloatArray:
    """A logged contribution with lag and sign as the difference has them: a retard may be logged
    as a positive number, and as late as delivered or on time."""
    difference = np.where(book.judged, book.delivered - book.start, np.nan)
    ways = [sign * shifted(values, rows) for sign in (1.0, -1.0) for rows in {0.0, book.lag.rows}]
    return min(ways, key=lambda way: float(np.nanmean(np.abs(difference - way))))


def choose(trials: Sequence[Sequence[Trial]]) -> int:
    """The sheet like which the ECU behaves, as an index: the first if it fits every log.

    trials: one sequence per log, each with a trial per sheet in the order supplied. Otherwise the
    one that fits with the least left over, and where none fits, the least misfit.
    """
    sheets = range(len(trials[0]))
    if all(log[0].fits for log in trials):
        return 0
    fitting = [i for i in sheets if all(log[i].fits for log in trials)]
    return min(fitting or sheets, key=lambda i: (round(misfit_of(trials, i) / _SAME_DEG), i))


def running(trials: Sequence[Sequence[Trial]], best: int, *, fits: bool) -> Running:
    """What the trials say about the running revision.

    fits: the best one accounts for the logs, perhaps with parts that it may leave unlisted.
    """
    order = sorted(range(len(trials[0])), key=lambda i: (misfit_of(trials, i), i))
    first = trials[0][0].sheet
    chosen = trials[0][best].sheet
    return Running(
        supplied=first.revision,
        best=chosen.revision if fits else None,
        matches_supplied=all(log[0].fits for log in trials),
        certainty=_certainty(trials, best, fits),
        ranking=tuple(
            Rank(
                trials[0][i].sheet.revision, trials[0][i].sheet.file, _finite(misfit_of(trials, i))
            )
            for i in order
        ),
        spans=tuple(
            Span(number, 0.0, log[best].account.ledger.times[-1].item(), chosen.revision)
            for number, log in enumerate(trials)
            if fits
        ),
        says=_says(trials, best, fits),
    )


def indistinguishable(trials: Sequence[Sequence[Trial]], best: int) -> tuple[str, ...]:
    """Other revisions that fit these logs as well as the best does."""
    return tuple(
        trials[0][i].sheet.revision
        for i in range(len(trials[0]))
        if i != best
        and all(log[i].fits for log in trials)
        and misfit_of(trials, i) - misfit_of(trials, best) <= 5 * _SAME_DEG
    )


def misfit_of(trials: Sequence[Sequence[Trial]], sheet: int) -> float:
    """RMS in degrees that a sheet leaves over all logs; infinite where nothing can be compared."""
    return float(np.sqrt(np.mean([log[sheet].misfit ** 2 for log in trials])))


def _finite(value: float) -> float | None:
    return value if np.isfinite(value) else None


def _certainty(trials: Sequence[Sequence[Trial]], best: int, fits: bool) -> float:
    """How far the next sheet lies behind, against what is left by the best one."""
    if not fits:
        return 0.5
    twins = len(indistinguishable(trials, best))
    if twins:
        return round(1.0 / (1 + twins), 2)
    others = [misfit_of(trials, i) for i in range(len(trials[0])) if i != best]
    gap = min(others, default=1.0) - misfit_of(trials, best)
    return float(np.clip(0.8 + 0.4 * gap, 0.8, 0.99))


def _says(trials: Sequence[Sequence[Trial]], best: int, fits: bool) -> str:
    first, chosen = trials[0][0].sheet.revision, trials[0][best].sheet.revision
    if not fits:
        names = [trial.sheet.revision for trial in trials[0]]
        which = f"revision {names[0]}" if len(names) == 1 else "any of the supplied revisions"
        return f"does not behave like {which}"
    twins = indistinguishable(trials, best)
    if twins:
        return f"behaves like revision {chosen}; this log cannot tell it from {', '.join(twins)}"
    return f"behaves like revision {chosen}" + ("" if best == 0 else f", not {first}")
