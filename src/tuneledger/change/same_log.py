"""Whether a drive before and a drive after are one log: by what is in it, not by its bytes.

The same log may come packed, under another name, or in another format.
"""

import numpy as np

from tuneledger.logs.model import Log
from tuneledger.statement.model import LogAccount


def same_log(one: LogAccount, other: LogAccount) -> bool:
    """Whether both hold the same channels at the same times with the same values.

    Values are compared on thin samples, those of the delivered advance in full: no two drives
    agree in all of them.
    """
    return _same_rows(one.log, other.log) and _same_delivered(one, other)


def _same_rows(one: Log, other: Log) -> bool:
    if [c.name for c in one.channels] != [c.name for c in other.channels]:
        return False
    if len(one.groups) != len(other.groups):
        return False
    times = zip(one.groups, other.groups, strict=True)
    if not all(np.array_equal(a.times, b.times, equal_nan=True) for a, b in times):
        return False
    return all(
        np.array_equal(one.sample(a), other.sample(b), equal_nan=True)
        for a, b in zip(one.channels, other.channels, strict=True)
    )


def _same_delivered(one: LogAccount, other: LogAccount) -> bool:
    if one.ledger is None or other.ledger is None:
        return one.ledger is other.ledger
    return np.array_equal(one.ledger.delivered, other.ledger.delivered, equal_nan=True)
