"""What a sheet's caps, floors and limits make of something more that is added before them.

They act on the sum. Where a highest advance binds, a rule that takes two degrees more changes
nothing: the cap then takes two less. So such rows do not tell whether a rule acts, and where it is
posted there, the cap's entry gives way. A cap acts last only where delivered keeps to it.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

import numpy as np

from tuneledger.arrays import BoolArray, FloatArray
from tuneledger.evaluate.model import Contribution
from tuneledger.explain.account import LIMIT, Account
from tuneledger.ledger.book import Book
from tuneledger.ledger.model import Entry, Ledger
from tuneledger.record import record

_SAME_DEG = 1e-6  # rounding of the arithmetic, far below any logger's step
_SELDOM, _MOSTLY = 0.05, 0.9


@record(eq=False)
class Cap:
    """A cap, a floor or a limit: the entry it posts to, and per row the number it holds to.

    side: +1 nothing above the number, −1 nothing below; the number is NaN where it is not in force
    """

    entry: str
    side: int
    number: FloatArray

    def holds(self, delivered: FloatArray, within: float) -> BoolArray:
        """Where the advance stands at the number."""
        return np.asarray(np.nan_to_num(np.abs(delivered - self.number), nan=np.inf) <= within)

    def cut(self, stands: FloatArray) -> FloatArray:
        """What it takes from (adds to) what stands before it."""
        gap = self.side * np.minimum(self.side * (self.number - stands), 0.0)
        return np.asarray(np.nan_to_num(gap))


@record(eq=False)
class Capped:
    """An account's caps in the order in which they act.

    before: degrees per row before all of them; keeps: rows in which delivered keeps to them
    """

    before: FloatArray
    caps: tuple[Cap, ...]
    keeps: BoolArray

    def through(self, values: FloatArray) -> dict[str, FloatArray]:
        """What each cap posts with so many degrees more before it."""
        stands = self.before + np.nan_to_num(values)
        out: dict[str, FloatArray] = {}
        for cap in self.caps:
            cut = cap.cut(stands)
            out[cap.entry] = out.get(cap.entry, np.zeros(stands.shape)) + cut
            stands = stands + cut
        return out


def capped(book: Book, account: Account) -> Capped | None:
    """The account's caps; None where none is in force, or where several sheets ran in turn."""
    ledger = account.judging
    posted = {entry.correction: np.nan_to_num(entry.values) for entry in ledger.entries}
    if account.sheet is None or len(posted) < len(ledger.entries):
        return None
    cutting = [p for p in account.parts if p.effect in ("at most", "at least")]
    names = {part.correction for part in cutting} | {LIMIT}
    total = book.start + sum(posted.values())
    before = total - sum(v for name, v in posted.items() if name in names)
    caps = tuple(_caps(account, cutting, posted, before))
    if not caps:
        return None
    bound = book.tolerance + book.slack
    past = [cap.side * (book.delivered - cap.number) > bound for cap in caps]
    return Capped(before, caps, np.asarray(~np.any(past, axis=0)))


def _caps(
    account: Account,
    cutting: Sequence[Contribution],
    posted: dict[str, FloatArray],
    before: FloatArray,
) -> Iterator[Cap]:
    stands = before
    for part in cutting:
        if part.correction not in posted:
            continue
        cut = posted[part.correction]
        side = 1 if part.effect == "at most" else -1
        cap = Cap(part.correction, side, np.where(part.active, part.values, np.nan))
        # Where a threshold was in doubt, what was settled counts, and not what the log has.
        same = np.abs(cap.cut(stands) - cut) <= _SAME_DEG
        settled = np.where(np.abs(cut) > _SAME_DEG, stands + cut, np.nan)
        yield replace(cap, number=np.where(same, cap.number, settled))
        stands = stands + cut
    limits = account.sheet.calibration.spark.limits if account.sheet else None
    if limits is not None and LIMIT in posted:
        for side, limit in ((1, limits.highest), (-1, limits.lowest)):
            if limit is not None:
                yield Cap(LIMIT, side, np.full(before.shape, float(limit)))


def gives_way(book: Book, account: Account, values: FloatArray) -> dict[str, FloatArray]:
    """Entry → degrees per row by which the caps post otherwise once so much is added before."""
    found = capped(book, account)
    if found is None:
        return {}
    before, after = found.through(np.zeros(values.shape)), found.through(values)
    change = {name: np.where(found.keeps, after[name] - before[name], 0.0) for name in after}
    return {name: one for name, one in change.items() if np.any(np.abs(one) > _SAME_DEG)}


def entries_with(ledger: Ledger, change: Mapping[str, FloatArray]) -> tuple[Entry, ...]:
    """The ledger's entries, those of the caps changed by so much."""
    return tuple(
        replace(entry, values=entry.values + change[entry.correction])
        if entry.correction in change
        else entry
        for entry in ledger.entries
    )


def seen(book: Book, account: Account) -> FloatArray:
    """What is left over as far as it tells what acts before the caps, degrees per row.

    NaN where a cap binds and delivered keeps to it: more or less before it would look the same.
    Where delivered lies within the cap all the same, the whole of what took it there.
    """
    found, left = capped(book, account), account.left
    if found is None:
        return left
    bound = book.tolerance + book.slack
    cuts = found.through(np.zeros(left.shape))
    cut = np.sum(list(cuts.values()), axis=0)
    binds = found.keeps & (np.abs(cut) > _SAME_DEG)
    within = binds & (np.sign(cut) * left > bound)
    silent = binds & (np.abs(np.nan_to_num(left)) <= bound)
    for cap in found.caps:
        # What stands at the number would do so too if more of the same sign were added.
        beyond = cap.side * np.nan_to_num(left) > bound
        if beyond.sum() > _SELDOM * (np.abs(np.nan_to_num(left)) > bound).sum():
            silent |= cap.holds(book.delivered, book.tolerance)
    return np.where(silent, np.nan, np.where(within, left + cut, left))


def at_its_own(book: Book, account: Account, rows: BoolArray) -> bool:
    """Whether in nearly all of these rows delivered stands at a cap of the sheet's own."""
    found = capped(book, account)
    if found is None or not rows.any():
        return False
    at = [cap.holds(book.delivered, book.tolerance)[rows] for cap in found.caps]
    return bool(np.any(at, axis=0).mean() >= _MOSTLY)
