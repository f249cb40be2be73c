"""Like which supplied revision the ECU behaves: every sheet is replayed over the whole log."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from tuneledger.explain.account import Account, carry_out
from tuneledger.explain.carriers import as_logged
from tuneledger.explain.expected import expectations
from tuneledger.explain.maps import MapCheck, check_map
from tuneledger.explain.model import Rank, Running, Span
from tuneledger.explain.sheets import LaidSheet, label
from tuneledger.ledger.book import Book

# Two sheets whose misfits are this close say the same about this log.
_SAME_DEG = 0.02
# A sheet that can be held against less than this share of what is judged says nothing of the log.
_LEAST_JUDGED = 0.5


@dataclass(frozen=True, eq=False)
class Trial:
    """One sheet tried on one log: what it leaves of delivered, and of scheduled.

    judges: it can be computed, and so be held against the log, in at least half of the judged rows
    """

    sheet: LaidSheet
    account: Account
    map_check: MapCheck
    notes: tuple[str, ...] = ()
    judges: bool = True

    @property
    def fits(self) -> bool:
        return self.judges and self.account.balances and self.map_check.agrees

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
    parts, notes = [], []
    channels: dict[str, str] = {}
    for name in sheet.enabled:
        part = sheet.parts[name]
        channel = carriers.get(name)
        logged = as_logged(book, sheet, name, channel) if channel is not None else None
        if channel is not None and logged is not None:
            channels[name], part = channel, logged
        elif channel is not None:
            notes.append(
                f"the channel {channel} does not carry what revision {sheet.revision}'s "
                f"'{name}' would post: the ECU does not run it like that"
            )
        parts.append(part)
    account = carry_out(
        book,
        sheet,
        parts,
        first=first,
        channels=channels,
        expected=expectations(book, sheet, first, {part.correction: part for part in parts}),
    )
    judges = np.isfinite(account.left).sum() >= _LEAST_JUDGED * book.judged.sum()
    return Trial(sheet, account, check_map(book, sheet), tuple(notes), bool(judges))


def choose(trials: Sequence[Sequence[Trial]]) -> int:
    """The sheet like which the ECU behaves, as an index: the first if it fits every log.

    trials: one sequence per log, each with a trial per sheet in the order supplied. Otherwise the
    one that fits with the least left over, and where none fits, the least misfit.
    """
    sheets = range(len(trials[0]))
    if all(log[0].fits for log in trials):
        return 0
    fitting = [i for i in sheets if all(log[i].fits for log in trials)]
    return min(fitting or sheets, key=lambda i: (_coarse(misfit_of(trials, i)), i))


def _coarse(misfit: float) -> float:
    return float(round(misfit / _SAME_DEG)) if np.isfinite(misfit) else misfit


def running(trials: Sequence[Sequence[Trial]], best: int, *, fits: bool) -> Running:
    """What the trials say about the running revision.

    fits: the best one accounts for the logs, perhaps with parts that it may leave unlisted.
    """
    first = trials[0][0].sheet
    chosen = trials[0][best].sheet
    return Running(
        supplied=first.revision,
        best=chosen.revision if fits else None,
        matches_supplied=all(log[0].fits for log in trials),
        certainty=_certainty(trials, best, fits),
        ranking=ranking(trials),
        spans=tuple(
            Span(
                number,
                0.0,
                log[best].account.ledger.times[-1].item(),
                chosen.revision,
                file=chosen.file,
            )
            for number, log in enumerate(trials)
            if fits
        ),
        says=_says(trials, best, fits),
        twins=tuple(trials[0][i].sheet.file for i in _twins(trials, best)) if fits else (),
    )


def ranking(trials: Sequence[Sequence[Trial]]) -> tuple[Rank, ...]:
    """Every sheet with what it leaves of the whole logs, the best first."""
    order = sorted(range(len(trials[0])), key=lambda i: (misfit_of(trials, i), i))
    sheets = [trial.sheet for trial in trials[0]]
    return tuple(
        Rank(sheets[i].revision, sheets[i].file, _finite(misfit_of(trials, i))) for i in order
    )


def indistinguishable(trials: Sequence[Sequence[Trial]], best: int) -> tuple[str, ...]:
    """Other revisions that fit these logs as well as the best does."""
    return tuple(trials[0][i].sheet.revision for i in _twins(trials, best))


def _twins(trials: Sequence[Sequence[Trial]], best: int) -> list[int]:
    return [
        i
        for i in range(len(trials[0]))
        if i != best
        and all(log[i].fits for log in trials)
        and misfit_of(trials, i) <= misfit_of(trials, best) + 5 * _SAME_DEG
    ]


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
    mine = misfit_of(trials, best)
    gap = min(others, default=1.0) - mine if np.isfinite(mine) else 0.0
    return float(np.clip(0.8 + 0.4 * gap, 0.8, 0.99))


def _says(trials: Sequence[Sequence[Trial]], best: int, fits: bool) -> str:
    names = [label(trial.sheet, [t.sheet for t in trials[0]]) for trial in trials[0]]
    first, chosen = names[0], names[best]
    if not fits:
        which = f"revision {names[0]}" if len(names) == 1 else "any of the supplied revisions"
        return f"does not behave like {which}"
    twins = [names[i] for i in _twins(trials, best)]
    if twins:
        return f"behaves like revision {chosen}; this log cannot tell it from {', '.join(twins)}"
    return f"behaves like revision {chosen}" + ("" if best == 0 else f", not {first}")
