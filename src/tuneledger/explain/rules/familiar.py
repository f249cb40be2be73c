"""A correction of the sheet with other numbers: what the sheet says of it need not be said again.

Where one correction is left out of an account, and a rule is looked for in its place, that
something acts there along those channels is known. A rule that reads nothing else is so much
shorter.
"""

from dataclasses import replace

from tuneledger.arrays import FloatArray
from tuneledger.explain.account import Account
from tuneledger.explain.reads import read_by
from tuneledger.explain.rules.fitted import Fitted
from tuneledger.explain.rules.sure import leaps
from tuneledger.ledger.book import Book

# Which of some 150 channels it reads, 5 nats, and where the points of a table or a threshold lie.
_KNOWN_CHANNEL = 5.0
_KNOWN_POINT = 2.0


def rewritten(book: Book, account: Account) -> frozenset[str]:
    """The channels that the corrections read which the sheet has on and the account leaves out."""
    sheet = account.sheet
    if sheet is None:
        return frozenset()
    carried_out = {part.correction for part in account.parts}
    left_out = [name for name in sheet.enabled if name not in carried_out]
    return frozenset(c for name in left_out for c in read_by(book, sheet.correction(name)))


def as_familiar(rule: Fitted, channels: frozenset[str], left: FloatArray) -> Fitted:
    """The rule, shorter by what is known already, where it reads only these channels.

    A table does not leap between two of its points: what does is something else.
    left: degrees per row that it is to account for, NaN where not judged
    """
    reads = {channel.name for channel in rule.reads()}
    if not reads or not reads <= channels or leaps(rule, left):
        return rule
    points = rule.shape.at.size if rule.shape is not None else 0
    saved = min(_KNOWN_CHANNEL + _KNOWN_POINT * (points + len(rule.terms)), rule.price)
    return replace(rule, price=rule.price - saved, cost=rule.cost - saved)
