"""Like which supplied revision the ECU behaves: every sheet is replayed over the whole log."""

from collections.abc import Sequence

import numpy as np

from tuneledger.arrays import FloatArray
from tuneledger.explain.model import Rank, Running, Span
from tuneledger.explain.sheets import label
from tuneledger.explain.trial import Trial
from tuneledger.wording import listing, these_logs

# Two sheets whose misfits are this close say the same about this log.
_SAME_DEG = 0.02


def choose(trials: Sequence[Sequence[Trial]]) -> int:
    """The sheet like which the ECU behaves, as an index: the first if it fits every log.

    trials: one sequence per log, each with a trial per sheet in the order supplied. Otherwise the
    one that fits with the least left over, and where none fits, the least misfit.
    """
    sheets = range(len(trials[0]))
    if all(log[0].fits for log in trials):
        return 0
    fitting = [i for i in sheets if all(log[i].fits for log in trials)]
    off = misfits(trials)
    return min(fitting or sheets, key=lambda i: (_coarse(off[i]), i))


def _coarse(misfit: float) -> float:
    return float(round(misfit / _SAME_DEG)) if np.isfinite(misfit) else misfit


def running(
    trials: Sequence[Sequence[Trial]], best: int, *, fits: bool, open_: frozenset[str] = frozenset()
) -> Running:
    """What the trials say about the running revision.

    fits: the best one accounts for the logs, perhaps with parts that it may leave unlisted.
    open_: its corrections that are suspected, since the logs cannot show whether they acted
    """
    first = trials[0][0].sheet
    chosen = trials[0][best].sheet
    off = misfits(trials)
    twins = _twins(trials, off, best, open_)
    return Running(
        supplied=first.revision,
        best=chosen.revision if fits else None,
        matches_supplied=all(log[0].fits for log in trials),
        certainty=_certainty(off, best, len(twins), fits=fits),
        ranking=_ranking(trials, off),
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
        says=_says(trials, best, twins, fits=fits),
        twins=tuple(trials[0][i].sheet.file for i in twins) if fits else (),
        unjudged=tuple(trials[0][i].sheet.file for i in _mute(trials)),
    )


def not_judged(trials: Sequence[Sequence[Trial]], why: str) -> Running:
    """What can be said of the running revision where the logs tell nothing of it."""
    sheets = [trial.sheet for trial in trials[0]]
    return Running(
        supplied=sheets[0].revision,
        best=None,
        matches_supplied=False,
        certainty=0.5,
        ranking=tuple(Rank(sheet.revision, sheet.file, None) for sheet in sheets),
        spans=(),
        says=f"cannot be judged: {why}",
        unjudged=tuple(sheet.file for sheet in sheets),
    )


def ranking(trials: Sequence[Sequence[Trial]]) -> tuple[Rank, ...]:
    """Every sheet with what it leaves of the whole logs, the best first."""
    return _ranking(trials, misfits(trials))


def _ranking(trials: Sequence[Sequence[Trial]], off: Sequence[float]) -> tuple[Rank, ...]:
    order = sorted(range(len(trials[0])), key=lambda i: (off[i], i))
    sheets = [trial.sheet for trial in trials[0]]
    return tuple(Rank(sheets[i].revision, sheets[i].file, _finite(off[i])) for i in order)


def _mute(trials: Sequence[Sequence[Trial]]) -> list[int]:
    """Sheets that say nothing of any of the logs."""
    return [i for i in range(len(trials[0])) if all(log[i].mute for log in trials)]


def _twins(
    trials: Sequence[Sequence[Trial]], off: Sequence[float], best: int, open_: frozenset[str]
) -> list[int]:
    """Other sheets that fit these logs as well as the best does.

    off: the misfit of each sheet
    """
    return [
        i
        for i in range(len(trials[0]))
        if i != best
        and off[i] <= off[best] + 5 * _SAME_DEG
        and (
            not any(log[i].refuted for log in trials)
            or all(_as_open(log[best], log[i], open_) for log in trials)
        )
    ]


def _as_open(best: Trial, other: Trial, open_: frozenset[str]) -> bool:
    """Whether two sheets leave the same over, and what the log cannot show of the one may have
    acted by the other too."""
    if best.sheet.calibration.spark.complete != other.sheet.calibration.spark.complete:
        return False
    if not open_ or best.map_check.agrees != other.map_check.agrees or not other.judges:
        return False
    unknown = (other.sheet.parts.get(name) for name in open_ if name in other.sheet.enabled)
    if sum(part is not None and not part.computable.all() for part in unknown) < len(open_):
        return False
    mine, theirs = best.account.left, other.account.left
    return np.allclose(mine, theirs, rtol=0.0, atol=_SAME_DEG, equal_nan=True)


def misfits(trials: Sequence[Sequence[Trial]]) -> list[float]:
    """RMS in degrees that each sheet leaves over all logs; infinite where nothing can be compared.

    To be silent speaks neither for a sheet nor against it, see `without_gaps`.
    """
    squares = np.array([_squares(log) for log in trials])
    return [float(off) for off in np.sqrt(squares.mean(axis=0))]


def _squares(log: Sequence[Trial]) -> FloatArray:
    """Mean square in degrees per sheet, of delivered and of scheduled together."""
    of_map = without_gaps(np.array([trial.map_check.off for trial in log]))
    delivered = without_gaps(np.array([trial.account.off for trial in log]))
    squares = _mean_square(delivered) + np.nan_to_num(_mean_square(of_map))
    silent = np.array([trial.mute or np.isnan(trial.account.off).all() for trial in log])
    return np.where(silent | np.isnan(squares), np.inf, squares)


def without_gaps(off: FloatArray) -> FloatArray:
    """How far each sheet is off, sheets × rows, with its gaps (NaN) filled.

    Of rows about which a sheet says nothing, it is taken to be as far off as the one other sheet
    that is least off there. NaN stays only in rows about which no sheet says anything.
    """
    gaps = np.isnan(off)
    open_ = gaps & ~gaps.all(axis=0)
    if not open_.any():
        return off
    out = off.copy()
    for i in np.flatnonzero(open_.any(axis=1)):
        here = off[:, open_[i]]
        unsaid = np.isnan(here).mean(axis=1)
        order = np.lexsort((np.nansum(here**2, axis=1), unsaid))
        least: FloatArray = here[order[0]]
        out[i, open_[i]] = np.where(np.isnan(least), np.fmin.reduce(here, axis=0), least)
    return out


def _mean_square(rows: FloatArray) -> FloatArray:
    """Of the rows that are known, which are the same for every sheet; NaN where there is none."""
    known = np.isfinite(rows[0])
    if not known.any():
        return np.full(len(rows), np.nan)
    some = rows if known.all() else rows[:, known]
    return np.asarray(np.mean(some**2, axis=1))


def _finite(value: float) -> float | None:
    return value if np.isfinite(value) else None


def _certainty(off: Sequence[float], best: int, twins: int, *, fits: bool) -> float:
    """How far the next sheet lies behind, against what is left by the best one."""
    if not fits:
        return 0.5
    if twins:
        return round(1.0 / (1 + twins), 2)
    mine = off[best]
    others = [*off[:best], *off[best + 1 :]]
    gap = min(others, default=1.0) - mine if np.isfinite(mine) else 0.0
    return float(np.clip(0.8 + 0.4 * gap, 0.8, 0.99))


def _says(trials: Sequence[Sequence[Trial]], best: int, twins: Sequence[int], *, fits: bool) -> str:
    names = [label(trial.sheet, [t.sheet for t in trials[0]]) for trial in trials[0]]
    first, chosen, mute = names[0], names[best], _mute(trials)
    if len(mute) == len(names):
        who = f"revision {names[0]} says" if len(names) == 1 else f"revisions {listing(names)} say"
        return f"cannot be judged: {who} nothing of these logs"
    if not fits:
        which = f"revision {names[0]}" if len(names) == 1 else "any of the supplied revisions"
        return f"does not behave like {which}"
    if twins:
        others = ", ".join(names[i] for i in twins)
        logs = these_logs(len(trials))
        return f"behaves like revision {chosen}; {logs} cannot tell it from {others}"
    return f"behaves like revision {chosen}" + ("" if best == 0 or 0 in mute else f", not {first}")
