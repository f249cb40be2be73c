"""A correction of the sheet with other numbers: what the sheet says of it need not be said again.

Where one correction is left out of an account, and a rule is looked for in its place, that
something acts there along those channels is known. A rule that reads nothing else, and acts there
or by as much, is so much shorter; one that acts elsewhere is another thing.
"""

from dataclasses import field, replace

import numpy as np

from tuneledger.arrays import BoolArray, FloatArray
from tuneledger.explain.account import Account
from tuneledger.explain.reads import read_by
from tuneledger.explain.rules.fitted import Fitted
from tuneledger.explain.rules.sure import leaps
from tuneledger.ledger.book import Book
from tuneledger.record import record

# Which of some 150 channels it reads, 5 nats, and where the points of a table or a threshold lie.
_KNOWN_CHANNEL = 5.0
_KNOWN_POINT = 2.0
_OVERLAP = 0.3  # as in `rewriting`


@record
class LeftOut:
    """What a sheet says of a correction that an account leaves out.

    sheet, name: which it is
    channels: those that it reads
    amount: degrees, where it has one amount
    rows: where it would act, and can be judged
    """

    sheet: int
    name: str
    channels: frozenset[str]
    amount: float | None
    rows: BoolArray = field(compare=False)


Familiar = frozenset[LeftOut]


def rewritten(book: Book, account: Account) -> Familiar:
    """The corrections which the sheet has on and the account leaves out."""
    sheet = account.sheet
    if sheet is None:
        return frozenset()
    carried_out = {part.correction for part in account.parts}
    judged = np.isfinite(account.left)
    out = set()
    for name in sheet.enabled:
        one = sheet.correction(name)
        if name in carried_out or one is None:
            continue
        rows = judged & (np.abs(np.nan_to_num(sheet.parts[name].values)) > book.tolerance)
        channels = frozenset(read_by(book, one))
        out.add(LeftOut(sheet.index, name, channels, one.amount, rows))
    return frozenset(out)


def as_familiar(book: Book, rule: Fitted, familiar: Familiar, left: FloatArray) -> Fitted:
    """The rule, shorter by what is known already, where it reads only what a correction that is
    left out reads, and may be that one.

    A table does not leap between two of its points: what does is something else.
    left: degrees per row that it is to account for, NaN where not judged
    """
    reads = {channel.name for channel in rule.reads()}
    known = [one for one in familiar if reads and reads <= one.channels]
    if not any(_may_be(book, rule, one) for one in known) or leaps(rule, left):
        return rule
    points = rule.shape.at.size if rule.shape is not None else 0
    saved = min(_KNOWN_CHANNEL + _KNOWN_POINT * (points + len(rule.terms)), rule.price)
    return replace(rule, price=rule.price - saved, cost=rule.cost - saved)


def _may_be(book: Book, rule: Fitted, one: LeftOut) -> bool:
    """Whether a rule may be that correction with other numbers: it acts in much of its rows, or by
    as much, wherever that is."""
    apart = abs(rule.level or np.nan) - abs(one.amount or np.nan)
    acts = np.abs(rule.values) > book.tolerance
    return (
        abs(apart) <= 2 * book.tolerance
        or not one.rows.any()
        or bool(acts[one.rows].mean() >= _OVERLAP)
    )
