"""Opening the book: delivered and scheduled on one time base, lag removed, ready to be judged."""

from collections.abc import Iterable, Iterator
from dataclasses import field, replace

import numpy as np

from tuneledger.arrays import BoolArray, FloatArray
from tuneledger.evaluate.model import Inputs
from tuneledger.ledger.between import Curve, logged_curve
from tuneledger.ledger.lag import Lag, shifted
from tuneledger.ledger.laidover import LaidOver, lay_over
from tuneledger.ledger.model import row_seconds
from tuneledger.ledger.noise import Noise, find_noise
from tuneledger.ledger.ratelimit import RateLimit
from tuneledger.ledger.regimes import Regimes, find_regimes
from tuneledger.ledger.smoothed import Smoothing
from tuneledger.logs.model import Log
from tuneledger.logs.samples import Between, Samples
from tuneledger.record import record
from tuneledger.roles.fills import cleared
from tuneledger.roles.model import Role, Roles
from tuneledger.wording import degrees, listing, number

_LEAST_NOISE_DEG = 0.05


@record(eq=False)
class Book:
    """One log opened for its account, a row per row of delivered's group.

    scheduled: the logged channel, or None where the log has none
    start:     what the account starts from: scheduled, else the first sheet's map
    delivered: lag removed; NaN where it has no sample
    own:       rows in which delivered has a sample of its own
    judged:    rows that may be judged: own, not void, start known
    lag:       of delivered behind start, in rows
    worth:     how many rows each row stands for, where a search leaves rows out; 1 where None
    asked:     a logged scheduled as it is where `start` is smoothed as delivered is; else the start
    smoothing: how delivered is smoothed, and the start with it; None where it is not
    start_own: rows in which a logged scheduled has a sample of its own; None for all
    noise:     of zero mean, for which the tolerance is wider; None where there is next to none
    rate:      how fast delivered may move, where that is limited; None where it is not
    on_its_way: 1 in rows in which it rises as fast as it may, −1 where it falls so, else 0; such
               rows are neither `own` nor `judged`. None where none are set aside
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
    asked: FloatArray | None = None
    smoothing: Smoothing | None = None
    start_own: BoolArray | None = None
    rate: RateLimit | None = None
    noise: Noise | None = None
    on_its_way: FloatArray | None = None


def open_book(
    log: Log,
    roles: Roles,
    inputs: Inputs,
    *,
    map_advance: FloatArray | None = None,
    map_unseen: FloatArray | None = None,
    redline_rpm: float | None = None,
    smoothing: Smoothing | None = None,
) -> Book | None:
    """The book of one log, or None where delivered, or everything it could start from, is missing.

    map_advance: the first sheet's map over `inputs.times`; taken as scheduled where none is logged.
    smoothing: how delivered is known to be smoothed; None: it is looked for
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
    given = logged_curve(_logged(log, delivered_role), delivered_role.scale)
    asked = Curve(start, start, None, None)
    if scheduled is not None and scheduled_role is not None:
        asked = _asked(log, scheduled_role, scheduled)
    laid = lay_over(asked, given, row_s, may_smooth=scheduled is not None, smoothing=smoothing)
    spare = laid.slack
    if scheduled is None and map_unseen is not None:
        spare = spare + map_unseen
    regimes = find_regimes(inputs, redline_rpm=redline_rpm)
    noise = _noise(laid, asked, given, row_s, regimes, _others(log, roles, times.size))
    return Book(
        log=log,
        roles=roles,
        inputs=inputs,
        times=times,
        scheduled=scheduled,
        start=laid.start,
        delivered=laid.delivered,
        own=laid.own,
        judged=laid.own & ~regimes.void & np.isfinite(laid.start) & np.isfinite(laid.delivered),
        regimes=regimes,
        tolerance=noise.allowed_deg if noise else laid.tolerance,
        noise=noise,
        slack=spare,
        lag=laid.lag,
        row_s=row_s,
        asked=asked.joined,
        smoothing=laid.smoothing,
        start_own=asked.samples.own if asked.samples and asked.sparse else None,
        regime_names=regimes.names(),
        notes=(*_notes(laid, asked, given, row_s, regimes), *_noisy(noise)),
    )


def _asked(log: Log, role: Role, scheduled: FloatArray) -> Curve:
    """Scheduled advance as it was logged, where it shares its times with the rows; else as it is
    between its samples."""
    raw = _logged(log, role)
    asked = logged_curve(raw if raw.size == scheduled.size else scheduled, role.scale)
    return replace(asked, joined=asked.joined if asked.sparse else scheduled)


def _logged(log: Log, role: Role) -> FloatArray:
    """A signal's channel as it was logged, in the signal's unit; NaN where the file has nothing."""
    return role.read(cleared(log.values(role.channel), role)[0])


def _notes(
    laid: LaidOver, asked: Curve, given: Curve, row_s: float, regimes: Regimes
) -> tuple[str, ...]:
    notes = []
    lag, against = laid.lag, "the map" if asked.samples is None else "scheduled advance"
    if laid.smoothing is not None:
        notes.append(_smoothly(laid, asked.joined, regimes))
    if lag.rows:
        by = f"{abs(lag.rows) * row_s * 1000:.0f} ms"
        if not (asked.sparse or given.sparse):
            by = f"{_counted(abs(lag.rows))} ({by})"
        order = "after" if lag.rows > 0 else "before"
        notes.append(f"delivered advance is logged {by} {order} {against}; the lag is taken out")
    elif not lag.sure:
        notes.append("this log does not tell whether delivered is logged late, or by how much")
    curves = {"delivered": given, "scheduled": asked}
    notes += [
        _sparsely(name, one.samples) for name, one in curves.items() if one.samples and one.sparse
    ]
    known = [
        f"{name} advance is logged to {one.step:.3g}°" for name, one in curves.items() if one.step
    ]
    if known:
        notes.append(f"{listing(known)}, no finer")
    return tuple(notes)


def _smoothly(laid: LaidOver, asked: FloatArray, regimes: Regimes) -> str:
    """What is said of a delivered advance that was smoothed."""
    assert laid.smoothing is not None
    lasts = f"about {number(round(laid.smoothing.lasts_s, 2), 2)} s"
    how = f"a low pass of {lasts}" if laid.smoothing.low_pass else f"a mean over {lasts}"
    above = np.where(regimes.load, laid.start - asked, np.nan)
    most = float(np.nanmax(above)) if np.isfinite(above).any() else 0.0
    note = (
        f"delivered advance is logged smoothed, as by {how}; scheduled is smoothed alike before "
        "the two are compared, and what is shorter shows smaller"
    )
    if most > laid.tolerance:
        note += (
            f"; if the ECU does that, and not the logger, delivered stood up to {most:.1f}° above "
            "scheduled under load for moments"
        )
    return note


def _noise(
    laid: LaidOver,
    asked: Curve,
    given: Curve,
    row_s: float,
    regimes: Regimes,
    others: Iterable[FloatArray],
) -> Noise | None:
    """The noise between the two, where both have a sample in every row."""
    if asked.samples is None or asked.sparse or given.sparse:
        return None
    delivered = shifted(given.raw, float(round(laid.lag.rows)))
    rows = ~regimes.void & ~regimes.closed & np.isfinite(delivered)
    steps = (asked.step, given.step)
    return find_noise(asked.joined, delivered, rows, steps, row_s, laid.tolerance, others)


def _others(log: Log, roles: Roles, rows: int) -> Iterator[FloatArray]:
    """What else was logged in the same rows."""
    found = (roles.get(f"{name} advance") for name in ("scheduled", "delivered"))
    own = [role.channel for role in found if role is not None]
    for channel in log.channels:
        if channel not in own and (values := log.values(channel)).size == rows:
            yield values


def _noisy(noise: Noise | None) -> tuple[str, ...]:
    """What is said of noise: of whom, how wide, and what it hides."""
    if noise is None:
        return ()
    sides = (("delivered", noise.delivered_deg), ("scheduled", noise.scheduled_deg))
    told = [f"{name} advance is noisy by {degrees(width, 2, signed=False)}" for name, width in sides
            if width >= _LEAST_NOISE_DEG]  # fmt: skip
    most = degrees(noise.allowed_deg, signed=False)
    return (
        f"{listing(told)} (standard deviation, of zero mean); up to ±{most} in one sample is taken "
        "for noise, and a difference smaller than that does not show",
    )


def _counted(rows: float) -> str:
    return "one sample" if abs(rows - 1) < 0.15 else f"{number(rows, 3)} samples"


def _sparsely(name: str, samples: Samples) -> str:
    rows = number(samples.every, 2)
    note = f"{name} advance has a sample of its own only in one row of {rows}"
    if samples.between is Between.JOINED:
        note += "; the straight lines between them are the logger's"
    return note
