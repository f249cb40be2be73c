"""Stretches of the log in which delivered and scheduled disagree, or something is unaccounted."""

from collections.abc import Sequence

import numpy as np

from tuneledger.arrays import BoolArray, FloatArray, IntArray
from tuneledger.ledger.model import Episode, EpisodeEntry, Ledger, row_seconds
from tuneledger.ledger.parts import Columns, mean_of, parts
from tuneledger.ledger.regimes import Regimes

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

# What an entry posts on average, rounded to a hundredth, at the least.
LEAST_ENTRY_DEG = 0.005

# Differences of rounded numbers come out as 0.30000000000000004; that is not beyond 0.3.
_EXACT = 1e-6

Run = tuple[int, int]


def departures(ledger: Ledger) -> list[Run]:
    """Runs of rows (first, last) in which there is a difference or something is unaccounted."""
    apart = exceeding(ledger.difference, ledger)
    return merged(apart + unaccounted_runs(ledger), ledger.times, ledger.row_s)


def unaccounted_runs(ledger: Ledger) -> list[Run]:
    """Runs of rows in which something is left over, beyond what an entry's own edges explain."""
    return exceeding(ledger.beyond_leeway, ledger, ledger.edge_slack)


def at_an_edge(run: Run, ledger: Ledger) -> bool:
    """Whether a short run is only an entry that starts or stops a little sooner or later.

    The log rounds what a condition reads, and reads it at its own times: near a threshold the edge
    of a posting cannot be told to a row. What is left is then as large as the posting's own jump.
    Without a spark nothing is posted: beside such rows all that acts starts or stops.
    """
    lasts = ledger.times[run[1]] - ledger.times[run[0]]
    if lasts > max(_EDGE_S, 3 * ledger.row_s):
        return False
    left = ledger.unaccounted[run[0] : run[1] + 1]
    size = np.nanmax(np.abs(left), initial=0.0)
    # An edge is seen at the next sample of delivered, which may be rows away.
    reach = max(_EDGE_ROWS, round(1.0 / max(float(ledger.own.mean()), 1e-9)))
    near = slice(max(0, run[0] - reach), run[1] + 1 + reach)
    posted = [np.where(ledger.void[near], 0.0, entry.values[near]) for entry in ledger.entries]
    jumps = [float(np.ptp(np.nan_to_num(values))) for values in posted]
    return bool(size <= 1.2 * sum(jumps) + ledger.tolerance)


def exceeding(
    values: FloatArray,
    ledger: Ledger,
    more_slack: FloatArray | None = None,
) -> list[Run]:
    """Runs in which |values| goes beyond tolerance and slack; rows that are not judged are skipped.

    A run reaches as far as the tolerance alone is exceeded, so that its edges are where the
    difference began and not where it outgrew the slack.
    """
    rows = np.flatnonzero(ledger.judged & np.isfinite(values))
    large = np.flatnonzero(np.abs(values[rows]) - _EXACT > ledger.tolerance)
    if large.size == 0:
        return []
    first, after = _stretches(large, ledger.times[rows])
    # From here on only the rows beyond the tolerance: no others lie in a run.
    rows = rows[large]
    size = np.abs(values[rows]) - _EXACT
    bound = ledger.tolerance + ledger.slack[rows]
    lone = _LONE_ROW_FACTOR * ledger.tolerance + ledger.next_change[rows]
    if more_slack is not None:
        bound = bound + more_slack[rows]
        lone = lone + more_slack[rows]
    cores = _counted(size > bound, first, after)
    tall = _counted(size > np.maximum(bound, lone), first, after)
    high = _counted(size > np.maximum(bound, 2 * ledger.tolerance), first, after)
    lasts = ledger.times[rows[after - 1]] - ledger.times[rows[first]] >= _BRIEF_S
    real = (cores > 1) & (lasts | (high > 0)) | (tall > 0)
    runs = zip(rows[first[real]].tolist(), rows[after[real] - 1].tolist(), strict=True)
    return merged(list(runs), ledger.times, ledger.row_s)


def _stretches(rows: IntArray, times: FloatArray) -> tuple[IntArray, IntArray]:
    """First, and one past the last, of each stretch of rows that follow each other, as indices
    into `rows`; a gap in time ends a stretch."""
    gap = max(_BRIDGE_S, 3.0 * row_seconds(times))
    apart = (np.diff(rows) > 1) | (times[rows[1:]] - times[rows[1:] - 1] > gap)
    breaks = np.flatnonzero(apart) + 1
    return np.r_[0, breaks], np.r_[breaks, rows.size]


def _counted(mask: BoolArray, first: IntArray, after: IntArray) -> IntArray:
    """How many are true in each stretch, from running totals: a log has thousands of stretches."""
    totals = np.concatenate(([0], np.cumsum(mask)))
    counts: IntArray = totals[after] - totals[first]
    return counts


def merged(runs: Sequence[Run], times: FloatArray, row_s: float) -> list[Run]:
    """Runs in order, those that overlap or nearly touch made one.

    row_s: seconds from one row to the next, usually
    """
    out: list[Run] = []
    bridge = max(_BRIDGE_S, 1.5 * row_s)
    for first, last in sorted(runs):
        if out and times[first] - times[out[-1][1]] <= bridge:
            out[-1] = (out[-1][0], max(out[-1][1], last))
        else:
            out.append((first, last))
    return out


def lasting(runs: Sequence[Run], row_s: float) -> list[Run]:
    """The runs that are longer than an edge that may be off by some rows."""
    longest = max(_EDGE_S / row_s if row_s > 0 else 0.0, _EDGE_ROWS)
    return [run for run in runs if run[1] + 1 - run[0] > longest]


def seconds(runs: Sequence[Run], times: FloatArray, row_s: float) -> float:
    """How long the runs last together; a run of one row lasts one row."""
    return float(sum(times[last] - times[first] + row_s for first, last in runs))


def episode(
    ledger: Ledger, run: Run, *, log: int, regimes: Regimes, about: str = "delivery"
) -> Episode:
    """One run as an episode, with the means of every entry over its samples."""
    here = slice(run[0], run[1] + 1)
    rows = run[0] + np.flatnonzero(ledger.judged[here] & np.isfinite(ledger.difference[here]))
    entries = tuple(
        EpisodeEntry(e.correction, mean, e.evidence, e.channel, e.revision)
        for e in ledger.entries
        if abs(mean := mean_of(e.values[rows])) >= LEAST_ENTRY_DEG
    )
    difference = mean_of(ledger.difference[rows])
    # Where an entry is not computable in some rows, what is left is told by the means that are.
    posted = sum(entry.deg for entry in entries)
    columns = Columns(ledger.scheduled, ledger.delivered, ledger.difference, ledger.unaccounted)
    return Episode(
        log=log,
        first=run[0],
        last=run[1],
        start_s=float(ledger.times[run[0]]),
        end_s=float(ledger.times[run[1]]),
        about=about,
        regime=regimes.most(rows if rows.size else here),
        parts=parts(regimes, rows, columns, row_s=ledger.row_s, tolerance=ledger.tolerance),
        scheduled_deg=mean_of(ledger.scheduled[rows]),
        delivered_deg=mean_of(ledger.delivered[rows]),
        difference_deg=difference,
        unaccounted_deg=mean_of(ledger.unaccounted[rows], fallback=difference - posted),
        expected=_all_expected(ledger, here),
        entries=entries,
    )


def _all_expected(ledger: Ledger, rows: slice) -> bool:
    """Every entry that matters here is expected, and nothing much is left over."""
    acting = [
        e for e in ledger.entries if np.fmax.reduce(np.abs(e.values[rows]), initial=0.0) > 0.05
    ]
    # What cannot be computed here has posted nothing that anybody knows of.
    posted = sum(np.nan_to_num(e.values[rows]) for e in ledger.entries)
    left = np.nan_to_num(np.where(ledger.judged[rows], ledger.difference[rows] - posted, 0.0))
    quiet = float(np.abs(left).mean()) <= ledger.tolerance
    return bool(acting) and quiet and all(e.expected is not None for e in acting)


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
