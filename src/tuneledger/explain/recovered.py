"""No scheduled advance and no sheet: what delivered alone shows of the map, and of the rest.

The map is read out of the rows in which nothing seems to act, what is left over is explained as if
that map were scheduled, and the map is read anew without the rows in which something was found.
What acts in most of the visits of a cell is part of the map then: this is an insight, no account.
"""

from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np

from tuneledger.arrays import BoolArray
from tuneledger.explain.account import carry_out
from tuneledger.explain.finding import Finding
from tuneledger.explain.leftover.model import Extra
from tuneledger.explain.looking import look_further
from tuneledger.explain.surface import Surface, map_columns, read_surface
from tuneledger.ledger.book import Book, open_book
from tuneledger.ledger.tolerance import slack
from tuneledger.logs.model import Log
from tuneledger.phrases import acting
from tuneledger.record import record
from tuneledger.roles.inputs import LogInputs
from tuneledger.roles.model import Roles
from tuneledger.wording import bound, degrees, listing, quantity, seconds, share

# A coarse map: a fine one would take up what the rules are to find.
_FINEST = 9
_ROUNDS = 2  # the second without the outliers of the first
# Where fewer of the rows follow it, delivered is no function of load and engine speed.
_LEAST_SETTLED = 0.6
# Less than this is not told: it may be the map's own error.
_LEAST_CERTAIN, _LEAST_S, _LEAST_DEG = 0.4, 0.5, 1.0


@record(eq=False)
class Recovered:
    """A map read out of delivered, and what stands out beyond it."""

    surface: Surface
    finding: Finding


def recover(log: Log, roles: Roles) -> Recovered | None:
    """The map of one log without scheduled advance; None where it shows none."""
    delivered = roles.get("delivered advance")
    if delivered is None:
        return None
    inputs = LogInputs(log, roles, log.times(delivered.channel))
    raw = delivered.read(log.values(delivered.channel))
    step = open_book(log, roles, inputs, map_advance=raw)
    if step is None:
        return None
    # The governor is at work at idle: the map is not read there.
    idle = np.array([name == "idle" for name in step.regime_names])
    found: Recovered | None = None
    quiet: BoolArray = step.own & ~step.regimes.void & ~idle
    for _ in range(_ROUNDS):
        surface = read_surface(
            map_columns(inputs),
            raw,
            tolerance=step.tolerance,
            row_s=step.row_s,
            rows=quiet,
            finest=_FINEST,
        )
        if surface is None or surface.settled < _LEAST_SETTLED:
            return found
        book = _beside(step, surface)
        finding = look_further(book, carry_out(book, None, ()), (), None, rules_from=1)
        found = Recovered(surface, finding)
        acts = np.zeros(raw.shape, dtype=np.bool_)
        for extra in finding.extras:
            acts |= extra.rows
        if not (acts & quiet).any() or (quiet & ~acts).mean() < 0.3:
            return found
        quiet = quiet & ~acts
    return found


def _beside(step: Book, surface: Surface) -> Book:
    """The book with the map as its start, judged no finer than the map is known."""
    spread = surface.spread[np.isfinite(surface.spread)]
    usual = float(np.median(spread)) if spread.size else 0.0
    start = surface.values
    return replace(
        step,
        start=start,
        judged=step.own & ~step.regimes.void & np.isfinite(start) & np.isfinite(step.delivered),
        tolerance=max(2.0 * step.tolerance, 3.0 * usual),
        slack=slack(start, step.delivered),
    )


def notes(found: Recovered) -> Sequence[str]:
    """What the log alone shows, as sentences: the map with its coverage, and what lies beyond."""
    surface, finding = found.surface, found.finding
    over = listing(
        f"{axis.signal} {quantity(axis.at[0], None)} to {quantity(axis.at[-1], axis.unit)}"
        for axis in surface.axes
    )
    spread = surface.spread[np.isfinite(surface.spread)]
    usual = bound(float(np.median(spread))) if spread.size else "not known"
    out = [
        f"read out of delivered alone, a map over {over}: the run has been in "
        f"{share(surface.coverage)} of it, {share(surface.settled)} of the samples follow it, "
        f"usually within {usual}; what acted all through the run is in it"
    ]
    units = {channel.name: channel.unit for channel in finding.book.log.channels}
    return [*out, *(said for extra in finding.extras if (said := _beyond(finding, extra, units)))]


def _beyond(finding: Finding, extra: Extra, units: Mapping[str, str]) -> str | None:
    """What one thing beyond the map comes to; None where it is too little to speak of.

    What adds is told without its rule: it may as well be the map that has taken up a retard which
    acts in most of the other rows.
    """
    book, rule = finding.book, extra.rule
    if extra.values is None or rule is None or extra.certainty < _LEAST_CERTAIN:
        return None
    rows = book.judged & extra.rows
    lasted = float(rows.sum()) * book.row_s / max(float(book.own.mean()), 1e-9)
    if lasted < _LEAST_S:
        return None
    mean = float(np.mean(extra.values[rows]))
    if abs(mean) < _LEAST_DEG:
        return None
    said = f"beyond that map, {degrees(mean)} on average for {seconds(lasted)}"
    if mean > 0:
        return f"{said}: something adds here, or takes in most of the other rows"
    along = f" along {rule.along.channel}" if rule.along is not None else ""
    when = f" {acting(rule.when, units)}" if rule.when else ""
    return f"{said}{along}{when}: a guess, to be checked against scheduled advance"
