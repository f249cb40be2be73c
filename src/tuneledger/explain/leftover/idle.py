"""An idle governor that no sheet lists: closed throttle, advance against the speed error.

A governor adds advance when the engine turns too slowly and takes it when it turns too fast. It
has memory of its own, so that a curve over the speed error reproduces it only roughly; what counts
is that it acts with the throttle closed, the right way round, and within a plausible authority.
"""

from collections.abc import Sequence

import numpy as np

from tuneledger.arrays import BoolArray, FloatArray
from tuneledger.evaluate.lookup import weights_1d
from tuneledger.explain.account import Account
from tuneledger.explain.expected import IDLE_AUTHORITY_DEG, ORDINARY_IDLE, hunts
from tuneledger.explain.leftover.held.levels import stands_still
from tuneledger.explain.leftover.model import Extra
from tuneledger.explain.leftover.target import (
    IDLE_AT_MOST_RPM,
    Target,
    doubt,
    leeway,
    most_sure,
    moving_target,
    needs,
)
from tuneledger.explain.model import Curve, Point, Rule
from tuneledger.explain.sheets import LaidSheet
from tuneledger.ledger.book import Book
from tuneledger.ledger.episodes import rows_of
from tuneledger.wording import degree_span

# A stretch is the governor's where the throttle is closed in this share of it, at so many rows at
# least; it follows the speed error so closely, and is no one amount in so many of the rows. Knots
# closer than so many rpm to the ends tell nothing. All judgement.
_CLOSED_SHARE = 0.85
_LEAST_ROWS = 8
_LEAST_CORRELATION = 0.5
_LEAST_APART = 25.0
_ONE_AMOUNT = 0.95
_FOLLOWS_RPM = 600.0
# Nats: of a governor, and of each point of a target that moves.
_PRICE, _PER_KNOT = 6.0, 4.0
NAME = "the idle governor"
_KNOTS_RPM = np.array([-600.0, -350.0, -200.0, -120.0, -60.0, 0.0, 60.0, 120.0, 200.0, 350.0])


def find(book: Book, account: Account, laid: Sequence[LaidSheet]) -> tuple[Extra, ...]:
    """The governor, if what is left over with the throttle closed looks like one."""
    return governor(book, account, alone=False)


def find_moving(book: Book, account: Account, laid: Sequence[LaidSheet]) -> tuple[Extra, ...]:
    """The governor with a target that nobody logged and that moves."""
    speed = book.inputs.signal("engine speed", "rpm")
    if speed is None or not book.regimes.throttle_known or target_logged(book):
        return ()
    target = moving_target(book, speed, account.left)
    return () if target is None else governor(book, account, alone=True, moving=target)


def target_logged(book: Book) -> bool:
    """Whether the log has the target itself."""
    return book.inputs.signal("idle speed target", "rpm") is not None


def governor(
    book: Book, account: Account, *, alone: bool, moving: Target | None = None
) -> tuple[Extra, ...]:
    """The same.

    alone: nothing else is left over with the throttle closed, as far as is known. Then all of it is
        the governor's, overrun from high speed too, where it is held at the end of its range.
    moving: its target, where none is logged and one that stays will not do
    """
    speed = book.inputs.signal("engine speed", "rpm")
    if speed is None or not book.regimes.throttle_known:
        return ()
    busy = rows_of(_own_runs(book, account, speed, alone), account.left.size)
    rows = busy & np.isfinite(account.left) & np.isfinite(speed)
    if rows.sum() < _LEAST_ROWS:
        return ()
    error, how = _speed_error(book, speed, rows, moving)
    # Overrun from high speed is not the governor's: it is awake where it was seen to act.
    awake = book.regimes.closed & (error >= error[rows].min())
    active = awake & np.isfinite(account.left)
    curve = _curve(error[active], account.left[active])
    here = account.left[rows]
    if (
        curve is None
        or _is_constant(here, book)
        or stands_still(book, book.start, rows)
        or not _is_governor(error[rows], here, curve, _FOLLOWS_RPM if alone else np.inf)
    ):
        return ()
    at, deg = curve
    values = np.where(awake, np.interp(error, at, deg), 0.0)
    left_before, left_after = _rms(account.left[active]), _rms((account.left - values)[active])
    if left_after > 0.6 * left_before:
        return ()
    quality = 1.0 - left_after / left_before
    against = hunts(book, active & (np.abs(values) > book.tolerance)) or doubt(moving)
    acts = f"acts only with the throttle closed, {degree_span(deg.min(), deg.max())} against {how}"
    found = Extra(
        kind="hidden rule",
        rows=busy | active,
        certainty=min(float(np.clip(0.6 + 0.4 * quality, 0.0, 0.95)), most_sure(moving)),
        price=_PRICE + (_PER_KNOT * moving.knots if moving is not None else 0.0),
        needs=needs(moving),
        leeway=leeway(moving, active, book.tolerance),
        entry="",
        values=values,
        expected=ORDINARY_IDLE if against is None else None,
        objection=against,
        name=NAME,
        rule=_rule(book, speed, error, at, deg),
        points=(Point("for", acts),),
    )
    return (found,)


def _own_runs(
    book: Book, account: Account, speed: FloatArray, alone: bool
) -> list[tuple[int, int]]:
    """Stretches of what is left over that may be the governor's: the throttle is closed in them,
    and the engine near idle, unless nothing else is left there and some of them are."""
    closed = book.regimes.closed
    own = [
        (first, last)
        for first, last in account.runs
        if closed[first : last + 1].mean() >= _CLOSED_SHARE
    ]
    idles = [_near_idle(speed[first : last + 1]) for first, last in own]
    if alone and any(idles):
        return own
    return [run for run, idle in zip(own, idles, strict=True) if idle]


def _rms(values: FloatArray) -> float:
    return float(np.sqrt(np.nanmean(values**2)))


def _near_idle(speed: FloatArray) -> bool:
    """Whether a stretch comes down to an idle at all; overrun alone is another's work."""
    known = speed[np.isfinite(speed)]
    return bool(known.size and known.min() < IDLE_AT_MOST_RPM)


def _speed_error(
    book: Book, speed: FloatArray, rows: BoolArray, moving: Target | None
) -> tuple[FloatArray, str]:
    """Target − speed. Without a logged target, the speed at which nothing is posted stands in."""
    if moving is not None:
        low, high = (f"{round(rpm, -1):.0f}" for rpm in moving.span)
        return moving.values - speed, (
            "engine speed's departure from its own slow course (no idle target is logged; it would "
            f"have moved between {low} and {high} rpm)"
        )
    target = book.inputs.signal("idle speed target", "rpm")
    if target is not None:
        return target - speed, "the idle speed target minus engine speed"
    steady = float(np.median(speed[rows]))
    return steady - speed, "engine speed (no idle target is logged)"


def _curve(error: FloatArray, left: FloatArray) -> tuple[FloatArray, FloatArray] | None:
    """Degrees over the speed error: least squares on a few knots, closer together near zero."""
    if error.size < _LEAST_ROWS or np.ptp(error) < 20.0:
        return None
    low, high = np.quantile(error, [0.01, 0.99])
    inner = _KNOTS_RPM[(low + _LEAST_APART < _KNOTS_RPM) & (high - _LEAST_APART > _KNOTS_RPM)]
    knots = np.concatenate(([low], inner, [high]))
    if knots.size < 3:
        return None
    below, share = weights_1d(knots, error)
    basis = np.zeros((error.size, knots.size))
    every = np.arange(error.size)
    basis[every, below] += 1.0 - share
    basis[every, np.minimum(below + 1, knots.size - 1)] += share
    used = basis.sum(axis=0) > 0.5
    deg: FloatArray = np.asarray(np.linalg.lstsq(basis[:, used], left, rcond=None)[0], np.float64)
    return knots[used], deg


def _is_constant(left: FloatArray, book: Book) -> bool:
    """Whether one amount says all of it: that is no governor, however its rounding falls."""
    amount = float(np.median(left))
    same = float((np.abs(left - amount) <= book.tolerance).mean())
    return abs(amount) > book.tolerance and same >= _ONE_AMOUNT


def _is_governor(
    error: FloatArray,
    left: FloatArray,
    curve: tuple[FloatArray, FloatArray],
    follows_rpm: float,
) -> bool:
    """The right way round, within authority, and following the error rather than a constant."""
    at, deg = curve
    if np.abs(left).max() > IDLE_AUTHORITY_DEG or np.ptp(left) < 0.5:
        return False
    near = np.abs(error) <= min(float(np.quantile(np.abs(error), 0.9)), follows_rpm)
    if near.sum() < _LEAST_ROWS or np.ptp(error[near]) == 0 or np.ptp(left[near]) == 0:
        return False
    follows = float(np.corrcoef(error[near], left[near])[0, 1])
    # Far from the target, in the moments in which the throttle has just closed, it lags behind.
    usual = np.abs(at) <= float(np.abs(error[near]).max()) + _LEAST_APART
    falls = -float(np.minimum(np.diff(deg[usual]), 0.0).sum())
    return follows >= _LEAST_CORRELATION and falls <= 0.25 * max(float(np.ptp(deg)), 0.5)


def _rule(
    book: Book, speed: FloatArray, error: FloatArray, at: FloatArray, deg: FloatArray
) -> Rule:
    """The governor as a rule over engine speed, at the target that was usual in this log."""
    role = book.roles.get("engine speed")
    throttle = book.roles.get("throttle position") or book.roles.get("accelerator position")
    target = float(np.nanmedian(speed + error))
    speeds = (target - at)[::-1]
    numbers = (speeds - role.offset) / role.scale if role else speeds
    curve = Curve(
        role.channel.name if role else "engine speed",
        tuple(round(float(x), 1) for x in numbers),
        tuple(round(float(x), 2) for x in deg[::-1]),
    )
    if throttle is None:
        return Rule(along=curve)
    raw = book.inputs.channel(throttle.channel.name, None)
    closed = float(np.nanmax(raw[book.regimes.closed])) if raw is not None else 0.0
    limit = round(closed + max(0.05 * abs(closed), 0.01), 3)
    return Rule(when=({"channel": throttle.channel.name, "below": limit},), along=curve)
