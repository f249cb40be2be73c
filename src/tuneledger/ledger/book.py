"""Opening the book: delivered and scheduled on one time base, lag removed, ready to be judged."""

from dataclasses import dataclass, field

import numpy as np

from tuneledger.arrays import BoolArray, FloatArray
from tuneledger.evaluate.model import Inputs
from tuneledger.ledger.between import lag_between
from tuneledger.ledger.lag import Lag, realigned
from tuneledger.ledger.model import row_seconds
from tuneledger.ledger.regimes import Regimes, find_regimes
from tuneledger.ledger.tolerance import slack, tolerance
from tuneledger.logs.facts import quantisation_step
from tuneledger.logs.model import Log
from tuneledger.logs.samples import Between, Samples, at_samples, find_samples
from tuneledger.roles.fills import cleared
from tuneledger.roles.model import Role, Roles
from tuneledger.wording import listing, number


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
    start_own: rows in which a logged scheduled has a sample of its own; None for all
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
    start_own: BoolArray | None = None


def open_book(
    log: Log,
    roles: Roles,
    inputs: Inputs,
    *,
    map_advance: FloatArray | None = None,
    map_unseen: FloatArray | None = None,
    redline_rpm: float | None = None,
) -> Book | None:
    """The book of one log, or None where delivered, or everything it could start from, is missing.

    map_advance: the first sheet's map over `inputs.times`; taken as scheduled where none is logged.
    map_unseen: degrees per row by which it may have moved between two samples of what it reads.
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
    row_s = row_seconds(times)
    raw = _logged(log, delivered_role)
    samples = {"delivered": find_samples(raw)}
    steps = {"delivered": _step(raw, samples["delivered"])}
    if scheduled is not None and scheduled_role is not None:
        asked = _logged(log, scheduled_role)
        asked = asked if asked.size == times.size else scheduled
        samples["scheduled"] = find_samples(asked)
        steps["scheduled"] = _step(asked, samples["scheduled"])
        if samples["scheduled"].sparse:
            start = at_samples(scheduled, samples["scheduled"].own)
    of_start, own = samples.get("scheduled"), samples["delivered"].own
    start_own = of_start.own if of_start and of_start.sparse else None
    limit = tolerance(*steps.values())
    lag = lag_between(
        (start, of_start),
        (at_samples(raw, own), samples["delivered"]),
        (steps.get("scheduled"), steps["delivered"]),
        row_s=row_s,
    )
    delivered, own = _without_lag(raw, samples["delivered"], lag, start, limit)
    spare = slack(
        start,
        delivered,
        start_own=start_own,
        own=own if samples["delivered"].sparse else None,
        unmeasured_row_s=None if lag.sure else row_s,
    )
    if scheduled is None and map_unseen is not None:
        spare = spare + map_unseen
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
        slack=spare,
        lag=lag,
        row_s=row_s,
        start_own=start_own,
        regime_names=regimes.names(),
        notes=_notes(
            lag, samples, steps, row_s, "scheduled advance" if scheduled is not None else "the map"
        ),
    )


def _logged(log: Log, role: Role) -> FloatArray:
    """A signal's channel as it was logged, in the signal's unit; NaN where the file has nothing."""
    return role.read(cleared(log.values(role.channel), role)[0])


def _step(values: FloatArray, samples: Samples) -> float | None:
    """The step in which a channel counts; None where a logger's straight lines have hidden it."""
    if not samples.exact:
        return None
    return quantisation_step(values[samples.own] if samples.sparse else values)


def _without_lag(
    raw: FloatArray, samples: Samples, lag: Lag, start: FloatArray, limit: float
) -> tuple[FloatArray, BoolArray]:
    """Delivered at the time at which it was true.

    A channel with a sample in every row is read between its samples; a slower one keeps its
    samples as they are and only moves by whole rows, since between them nothing is known.
    """
    if not samples.sparse:
        moved = realigned(raw, lag.rows, step=2.0 * limit, along=start)
        return moved, np.isfinite(moved)
    moved, held = np.full(raw.shape, np.nan), np.zeros(raw.shape, dtype=np.bool_)
    source = np.flatnonzero(samples.own)
    target = source - round(lag.rows)
    inside = (target >= 0) & (target < raw.size)
    moved[target[inside]] = raw[source[inside]]
    held[target[inside]] = True
    return moved, held


def _notes(
    lag: Lag,
    samples: dict[str, Samples],
    steps: dict[str, float | None],
    row_s: float,
    against: str,
) -> tuple[str, ...]:
    notes = []
    if lag.rows:
        by = f"{abs(lag.rows) * row_s * 1000:.0f} ms"
        if not any(one.sparse for one in samples.values()):
            by = f"{_counted(abs(lag.rows))} ({by})"
        order = "after" if lag.rows > 0 else "before"
        notes.append(f"delivered advance is logged {by} {order} {against}; the lag is taken out")
    elif not lag.sure:
        notes.append("this log does not tell whether delivered is logged late, or by how much")
    notes += [_sparsely(name, one) for name, one in samples.items() if one.sparse]
    known = [f"{name} advance is logged to {step:g}°" for name, step in steps.items() if step]
    if known:
        notes.append(f"{listing(known)}, no finer")
    return tuple(notes)


def _counted(rows: float) -> str:
    return "one sample" if abs(rows - 1) < 0.15 else f"{number(rows, 3)} samples"


def _sparsely(name: str, samples: Samples) -> str:
    rows = number(samples.every, 2)
    note = f"{name} advance has a sample of its own only in one row of {rows}"
    if samples.between is Between.JOINED:
        note += "; the straight lines between them are the logger's"
    return note
