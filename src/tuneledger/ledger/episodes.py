"""Stretches of the log in which delivered and scheduled disagree, or something is unaccounted."""

from collections.abc import Sequence

import numpy as np

from tuneledger.arrays import BoolArray, FloatArray, IntArray
from tuneledger.ledger.model import Entry, Episode, EpisodeEntry, Ledger, row_seconds
from tuneledger.ledger.regimes import Regimes
from tuneledger.ledger.tolerance import local_change

# Two stretches this close together are one.
_BRIDGE_S = 0.25
# What is this brief has to be twice the tolerance: two rounded numbers may differ by more than a
# step for a row or two.
_BRIEF_S = 0.25
# An edge may be off by this much, seen from this many rows beside it.
_EDGE_S = 0.25
_EDGE_ROWS = 3
# One row alone may be an edge that fell between two samples; it has to stand out to count.
_LONE_ROW_FACTOR = 1.5

# Differences of rounded numbers come out as 0.30000000000000004; that is not beyond 0.3.
_EXACT = 1e-6

Run = tuple[int, int]


def departures(ledger: Ledger) -> list[Run]:
    """Runs of rows (first, last) in which there is a difference or something is unaccounted."""
    judged = ledger.own & ~ledger.void
    apart = exceeding(ledger.difference, ledger, judged)
    return merged(apart + unaccounted_runs(ledger), ledger.times)


def unaccounted_runs(ledger: Ledger) -> list[Run]:
    """Runs of rows in which something is left over, beyond what an entry's own edges explain."""
    judged = ledger.own & ~ledger.void
    return exceeding(ledger.beyond_leeway, ledger, judged, entries_slack(ledger.entries, ledger))


def entries_slack(entries: Sequence[Entry], ledger: Ledger) -> FloatArray:
    """What an entry that starts, ends or slopes may be off by for a row or two of lag."""
    total = np.zeros(ledger.times.shape)
    for entry in entries:
        total += np.nan_to_num(entry.values)
    return local_change(total, reach=2)


def at_an_edge(run: Run, ledger: Ledger) -> bool:
    """Whether a short run is only an entry that starts or stops a little sooner or later.

    The log rounds what a condition reads, and reads it at its own times: near a threshold the edge
    of a posting cannot be told to a row. What is left is then as large as the posting's own jump.
    """
    lasts = ledger.times[run[1]] - ledger.times[run[0]]
    if lasts > max(_EDGE_S, 3 * ledger.row_s):
        return False
    left = ledger.unaccounted[run[0] : run[1] + 1]
    size = np.nanmax(np.abs(left), initial=0.0)
    near = slice(max(0, run[0] - _EDGE_ROWS), run[1] + 1 + _EDGE_ROWS)
    jumps = [float(np.ptp(np.nan_to_num(entry.values[near]))) for entry in ledger.entries]
    return bool(size <= 1.2 * sum(jumps) + ledger.tolerance)


def exceeding(
    values: FloatArray,
    ledger: Ledger,
    judged: BoolArray,
    more_slack: FloatArray | None = None,
) -> list[Run]:
    """Runs in which |values| goes beyond tolerance and slack; rows that are not judged are skipped.

    A run reaches as far as the tolerance alone is exceeded, so that its edges are where the
    difference began and not where it outgrew the slack.
    """
    rows = np.flatnonzero(judged & np.isfinite(values))
    size = np.abs(values[rows]) - _EXACT
    bound = ledger.tolerance + ledger.slack[rows]
    lone = _LONE_ROW_FACTOR * ledger.tolerance + local_change(ledger.scheduled)[rows]
    if more_slack is not None:
        bound = bound + more_slack[rows]
        lone = lone + more_slack[rows]
    first, after = _stretches(size > ledger.tolerance, ledger.times[rows])
    # Counts over each run, from running totals: a log has thousands of runs within the slack.
    cores = np.concatenate(([0], np.cumsum(size > bound)))
    tall = np.concatenate(([0], np.cumsum(size > np.maximum(bound, lone))))
    high = np.concatenate(([0], np.cumsum(size > np.maximum(bound, 2 * ledger.tolerance))))
    lasts = ledger.times[rows[after - 1]] - ledger.times[rows[first]] >= _BRIEF_S
    real = (cores[after] - cores[first] > 1) & (lasts | (high[after] - high[first] > 0))
    real |= tall[after] - tall[first] > 0
    runs = zip(rows[first[real]].tolist(), rows[after[real] - 1].tolist(), strict=True)
    return merged(list(runs), ledger.times)


def _stretches(mask: BoolArray, times: FloatArray) -> tuple[IntArray, IntArray]:
    """First, and one past the last, of each run of true; a gap in time ends a run."""
    usual = row_seconds(times)
    fresh = np.concatenate(([True], np.diff(times) > max(_BRIDGE_S, 3.0 * usual)))[: mask.size]
    before = np.concatenate(([False], mask[:-1])) if mask.size else mask
    first = np.flatnonzero(mask & (~before | fresh))
    following = np.concatenate((~mask[1:] | fresh[1:], [True])) if mask.size else mask
    after = np.flatnonzero(mask & following) + 1
    return first.astype(np.int64), after.astype(np.int64)


def merged(runs: Sequence[Run], times: FloatArray) -> list[Run]:
    """Runs in order, those that overlap or nearly touch made one."""
    out: list[Run] = []
    bridge = max(_BRIDGE_S, 1.5 * row_seconds(times))
    for first, last in sorted(runs):
        if out and times[first] - times[out[-1][1]] <= bridge:
            out[-1] = (out[-1][0], max(out[-1][1], last))
        else:
            out.append((first, last))
    return out


def seconds(runs: Sequence[Run], times: FloatArray) -> float:
    """How long the runs last together; a run of one row lasts one row."""
    row_s = row_seconds(times)
    return float(sum(times[last] - times[first] + row_s for first, last in runs))


def episode(
    ledger: Ledger, run: Run, *, log: int, regimes: Regimes, about: str = "delivery"
) -> Episode:
    """One run as an episode, with the means of every entry over its samples."""
    rows = np.arange(run[0], run[1] + 1)
    rows = rows[(ledger.own & ~ledger.void & np.isfinite(ledger.difference))[rows]]
    entries = tuple(
        EpisodeEntry(e.correction, mean, e.evidence, e.channel, e.revision)
        for e in ledger.entries
        if abs(mean := _mean(e.values[rows])) >= 0.005
    )
    difference = _mean(ledger.difference[rows])
    # Where an entry is not computable in some rows, what is left is told by the means that are.
    posted = sum(entry.deg for entry in entries)
    return Episode(
        log=log,
        first=run[0],
        last=run[1],
        start_s=float(ledger.times[run[0]]),
        end_s=float(ledger.times[run[1]]),
        about=about,
        regime=regimes.most(slice(run[0], run[1] + 1)),
        scheduled_deg=_mean(ledger.scheduled[rows]),
        delivered_deg=_mean(ledger.delivered[rows]),
        difference_deg=difference,
        unaccounted_deg=_mean(ledger.unaccounted[rows], fallback=difference - posted),
        expected=_all_expected(ledger, slice(run[0], run[1] + 1)),
        entries=entries,
    )


def _all_expected(ledger: Ledger, rows: slice) -> bool:
    """Every entry that matters here is expected, and nothing much is left over."""
    acting = [e for e in ledger.entries if np.nanmax(np.abs(e.values[rows]), initial=0.0) > 0.05]
    left = np.nan_to_num(ledger.unaccounted[rows])
    quiet = float(np.abs(left).mean()) <= ledger.tolerance
    return bool(acting) and quiet and all(e.expected is not None for e in acting)


def _mean(values: FloatArray, fallback: float = float("nan")) -> float:
    finite = values[np.isfinite(values)]
    return float(finite.mean()) if finite.size else fallback


def rows_of(runs: Sequence[Run], rows: int) -> BoolArray:
    """The rows that lie in any of the runs, as a mask over so many rows."""
    out = np.zeros(rows, dtype=np.bool_)
    for first, last in runs:
        out[first : last + 1] = True
    return out


def true_runs(mask: BoolArray) -> list[Run]:
    """Runs of rows (first, last) in which a mask is true."""
    edges = np.flatnonzero(np.diff(np.concatenate(([False], mask, [False])).astype(np.int8)))
    return list(zip(edges[::2].tolist(), (edges[1::2] - 1).tolist(), strict=True))
