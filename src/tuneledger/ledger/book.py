"""Opening the book: delivered and scheduled on one time base, lag removed, ready to be judged."""

from dataclasses import dataclass, field

import numpy as np

from tuneledger.arrays import BoolArray, FloatArray, IntArray
from tuneledger.evaluate.model import Inputs
from tuneledger.ledger.farlag import far_lag
from tuneledger.ledger.lag import Lag, estimate_lag, realigned
from tuneledger.ledger.model import row_seconds
from tuneledger.ledger.regimes import Regimes, find_regimes
from tuneledger.ledger.tolerance import slack, tolerance
from tuneledger.logs.facts import held_every, quantisation_step
from tuneledger.logs.model import Log
from tuneledger.roles.fills import cleared
from tuneledger.roles.model import Roles
from tuneledger.wording import listing, number

# How late delivered may be logged: two channels polled in turn, or through a slow gateway.
_LATEST_S = 0.2
# A lag further off is looked for where the two differ by more than so many tolerances.
_FAR = 1.5


@dataclass(frozen=True, eq=False)
class Book:
    """One log opened for its account, a row per row of delivered's group.

    scheduled: the logged channel, or None where the log has none
    start:     what the account starts from: scheduled, else the first sheet's map
    delivered: lag removed; NaN where it has no sample
    own:       rows in which delivered has a sample of its own
    judged:    rows that may be judged: own, not void, start known
    lag:       of delivered behind start, in rows
    worth:     how many rows each row stands for, where a search leaves rows out; 1 where None
    """

    log: Log
    roles: Roles
    inputs: Inputs
    times: FloatArray
    scheduled: FloatArray | None
    start: FloatArray
    delivered: FloatArray
    own: BoolArray
    judged: BoolArray
    regimes: Regimes
    tolerance: float
    slack: FloatArray
    lag: Lag
    row_s: float
    regime_names: tuple[str, ...]
    notes: tuple[str, ...] = field(default=())
    worth: FloatArray | None = None


def open_book(
    log: Log,
    roles: Roles,
    inputs: Inputs,
    *,
    map_advance: FloatArray | None = None,
    redline_rpm: float | None = None,
) -> Book | None:
    """The book of one log, or None where delivered, or everything it could start from, is missing.

    map_advance: the first sheet's map over `inputs.times`; taken as scheduled where none is logged.
    """
    delivered_role = roles.get("delivered advance")
    if delivered_role is None:
        return None
    scheduled_role = roles.get("scheduled advance")
    scheduled = inputs.signal("scheduled advance", "deg") if scheduled_role else None
    start = scheduled if scheduled is not None else map_advance
    if start is None:
        return None

    times = inputs.times
    raw = delivered_role.read(cleared(log.values(delivered_role.channel), delivered_role)[0])
    every = held_every(raw)
    own = _own_rows(raw, every)
    steps = {"delivered": quantisation_step(raw)}
    if scheduled is not None:
        steps["scheduled"] = quantisation_step(scheduled)
    limit = tolerance(*steps.values())
    row_s = row_seconds(times)
    step = max((s for s in steps.values() if s), default=0.0)
    latest = _LATEST_S / row_s if row_s else 0.0
    filled = _filled(raw, own)
    lag = estimate_lag(start, filled, step=step, latest=latest)
    if not lag.sure and _far_apart(start, filled, limit):
        lag = far_lag(start, filled, step=step, row_s=row_s)
    delivered, own = _without_lag(raw, own, lag, start, limit)
    regimes = find_regimes(inputs, redline_rpm=redline_rpm)
    return Book(
        log=log,
        roles=roles,
        inputs=inputs,
        times=times,
        scheduled=scheduled,
        start=start,
        delivered=delivered,
        own=own,
        judged=own & ~regimes.void & np.isfinite(start) & np.isfinite(delivered),
        regimes=regimes,
        tolerance=limit,
        slack=slack(start, _filled(delivered, own), unmeasured_row_s=None if lag.sure else row_s),
        lag=lag,
        row_s=row_s,
        regime_names=regimes.names(),
        notes=_notes(
            lag, every, steps, row_s, "scheduled advance" if scheduled is not None else "the map"
        ),
    )


def _far_apart(start: FloatArray, delivered: FloatArray, limit: float) -> bool:
    """Whether the two differ, and by ever other amounts, as those do that are laid over wrongly."""
    apart = delivered - start
    return bool(np.nanstd(apart) > _FAR * limit) if np.isfinite(apart).any() else False


def _own_rows(raw: FloatArray, every: int) -> BoolArray:
    """Rows with a sample of their own: not empty, and not a value held over from before."""
    own: BoolArray = np.isfinite(raw)
    if every <= 1:
        return own
    changes: IntArray = np.flatnonzero(np.diff(raw) != 0) + 1
    phase = int(np.bincount(changes % every, minlength=every).argmax()) if changes.size else 0
    own &= np.arange(raw.size) % every == phase
    return own


def _filled(values: FloatArray, own: BoolArray) -> FloatArray:
    """The own samples joined by straight lines, so that a slow channel can be laid over a fast."""
    rows = np.flatnonzero(own)
    if rows.size in (0, values.size):
        return values
    filled = np.interp(np.arange(values.size), rows, values[rows])
    longest = 3.0 * float(np.median(np.diff(rows))) if rows.size > 1 else 1.0
    before = np.searchsorted(rows, np.arange(values.size), side="right")
    left = rows[np.clip(before - 1, 0, None)]
    right = rows[np.clip(before, None, rows.size - 1)]
    filled[(right - left) > longest] = np.nan
    filled[own] = values[own]
    return filled


def _without_lag(
    raw: FloatArray, own: BoolArray, lag: Lag, start: FloatArray, limit: float
) -> tuple[FloatArray, BoolArray]:
    """Delivered at the time at which it was true.

    A channel with a sample in every row is read between its samples; a slower one keeps its
    samples as they are and only moves by whole rows, since between them nothing is known.
    """
    if own.mean() > 0.6:
        moved = realigned(raw, lag.rows, step=2.0 * limit, along=start)
        return moved, np.isfinite(moved)
    rows = -round(lag.rows)
    moved, held = np.full(raw.shape, np.nan), np.zeros(raw.shape, dtype=np.bool_)
    source = np.flatnonzero(own)
    target = source + rows
    inside = (target >= 0) & (target < raw.size)
    moved[target[inside]] = raw[source[inside]]
    held[target[inside]] = True
    return moved, held


def _notes(
    lag: Lag, every: int, steps: dict[str, float | None], row_s: float, against: str
) -> tuple[str, ...]:
    notes = []
    if lag.rows:
        count = (
            "one sample" if abs(abs(lag.rows) - 1) < 0.15 else f"{number(abs(lag.rows), 3)} samples"
        )
        order = "after" if lag.rows > 0 else "before"
        notes.append(
            f"delivered advance is logged {count} ({abs(lag.rows) * row_s * 1000:.0f} ms) {order} "
            f"{against}; the lag is taken out"
        )
    elif not lag.sure:
        notes.append("this log does not tell whether delivered is logged late, or by how much")
    if every > 1:
        notes.append(f"delivered advance has a sample of its own only in one row of {every}")
    known = [f"{name} advance is logged to {step:g}°" for name, step in steps.items() if step]
    if known:
        notes.append(f"{listing(known)}, no finer")
    return tuple(notes)
