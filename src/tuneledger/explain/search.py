"""Where no sheet fits as it was handed over: the fewest departures from one that do.

A departure switches one correction on or off, takes another revision's version of it, or takes
another revision's limits. The search is greedy and ends when no departure pays for itself.
"""

from collections.abc import Iterator, Mapping, Sequence

import numpy as np

from tuneledger.evaluate.model import Contribution
from tuneledger.explain.account import Account, carry_out
from tuneledger.explain.cost import PER_CHANGE, left_over
from tuneledger.explain.expected import expectations
from tuneledger.explain.sheets import LaidSheet, same_correction
from tuneledger.explain.trial import Trial
from tuneledger.ledger.book import Book
from tuneledger.record import record

_MOST_DEPARTURES = 4
_CLOSER_SHARE = 0.9
# Two things at once leave a part open where they overlap, but hardly more than half of it.
_SETTLED_SHARE = 0.45


@record
class Departure:
    """One place where the ECU departs from the sheet.

    correction: the id; what: "on", "off", "version"; revision: where the version comes from
    """

    correction: str
    what: str
    revision: str


@record(eq=False)
class Departed:
    """A sheet with departures, carried out on one log."""

    account: Account
    departures: tuple[Departure, ...]
    cost: float


def depart(book: Book, trial: Trial, laid: Sequence[LaidSheet]) -> Departed:
    """The sheet of a trial with the departures that pay for themselves, fewest first."""
    channels = trial.account.channels
    state = {part.correction: part for part in trial.account.parts}
    current = Departed(trial.account, (), left_over(book, trial.account))
    for _ in range(_MOST_DEPARTURES):
        if not current.account.runs:
            break
        # One after the other, since an account of many corrections is large.
        tried = (
            _carried_out(book, trial.sheet, laid, move, channels, (*current.departures, departure))
            for departure, move in _moves(trial.sheet, laid, state)
            if not _changes_nothing(departure.correction, state, move, laid)
        )
        honest = (d for d in tried if _silent_elsewhere(book, current.account, d.account))
        best = min(honest, key=lambda d: d.cost, default=current)
        if best.cost > current.cost - PER_CHANGE:
            break
        current = best
        state = {part.correction: part for part in best.account.parts}
    return current


def _changes_nothing(
    name: str,
    state: Mapping[str, Contribution],
    move: Sequence[Contribution],
    laid: Sequence[LaidSheet],
) -> bool:
    """Whether a correction posts nothing in any row, as it is and as a departure has it.

    Where a threshold of it is in doubt, it may post all the same.
    """
    if any(name in sheet.doubt for sheet in laid):
        return False
    after = [part for part in move if part.correction == name]
    return all(part.posts_nothing for part in (state.get(name), *after) if part is not None)


def _silent_elsewhere(book: Book, before: Account, after: Account) -> bool:
    """Whether a departure brings the balance closer wherever it changes it, and settles much of
    it: a cause is silent where nothing happened."""
    changed = np.abs(after.left - before.left) > book.tolerance
    if not changed.any():
        return False
    closer = np.abs(after.left[changed]) < np.abs(before.left[changed])
    bound = book.tolerance + book.slack + after.ledger.edge_slack
    settled = np.abs(after.left[changed]) <= bound[changed]
    return bool(closer.mean() >= _CLOSER_SHARE and settled.mean() >= _SETTLED_SHARE)


def _moves(
    sheet: LaidSheet, laid: Sequence[LaidSheet], state: Mapping[str, Contribution]
) -> Iterator[tuple[Departure, list[Contribution]]]:
    """Every single departure from the present state, with the parts that it leaves acting."""
    order = _order(sheet, laid)
    for name in state:
        yield (
            Departure(name, "off", sheet.revision),
            [state[i] for i in order if i in state and i != name],
        )
    for owner in (sheet, *(other for other in laid if other is not sheet)):
        for name, part in owner.parts.items():
            if not part.computable.any() or state.get(name) is part:
                continue
            correction = owner.correction(name)
            if owner is not sheet and same_correction(correction, sheet.correction(name)):
                continue
            what = "version" if name in sheet.parts and owner is not sheet else "on"
            merged = {**state, name: part}
            yield Departure(name, what, owner.revision), [merged[i] for i in order if i in merged]


def _order(sheet: LaidSheet, laid: Sequence[LaidSheet]) -> list[str]:
    """The sheet's own order, then what only others list."""
    return list(dict.fromkeys(name for one in (sheet, *laid) for name in one.parts))


def _carried_out(
    book: Book,
    sheet: LaidSheet,
    laid: Sequence[LaidSheet],
    parts: Sequence[Contribution],
    channels: Mapping[str, str],
    departures: tuple[Departure, ...],
) -> Departed:
    acting = {part.correction for part in parts}
    account = carry_out(
        book,
        sheet,
        parts,
        first=laid[0],
        channels={k: v for k, v in channels.items() if k in acting},
        expected=expectations(book, sheet, laid[0], {part.correction: part for part in parts}),
        others=[other for other in laid if other is not sheet],
    )
    cost = left_over(book, account) + PER_CHANGE * (len(departures) - 1)
    return Departed(account, departures, cost)
