"""What may be found beyond a sheet, and in which order it is looked for."""

from collections.abc import Callable, Sequence

from tuneledger.explain.account import Account
from tuneledger.explain.leftover import (
    carried,
    cells,
    drifting,
    fixed,
    idle,
    missing,
    othermap,
    partly,
    standing,
    still,
    sums,
    tabled,
    twoaxes,
)
from tuneledger.explain.leftover.held import find as held
from tuneledger.explain.leftover.model import Extra
from tuneledger.explain.rules import find as rules
from tuneledger.explain.sheets import LaidSheet
from tuneledger.ledger.book import Book

Finder = Callable[[Book, Account, Sequence[LaidSheet]], tuple[Extra, ...]]
Stages = Sequence[Sequence[Finder]]

# In this order: what makes the channel itself doubtful, what a channel shows outright, what is
# ordinary, what a sheet lists without its numbers or the log cannot compute, then what nobody wrote
# down, last what is possible but proves little.
# Finders of one stage compete: the shortest explanation stands.
STAGES: Stages = (
    (still.find,),
    (carried.find, sums.find),
    (partly.find,),
    (idle.find,),
    (cells.find,),
    (standing.find, drifting.find),
    (missing.find,),
    (fixed.find, held.find, rules.find, othermap.find, tabled.find, twoaxes.find),
    (missing.find_possible,),
)
# Without those that only suspect; and with what is possible before what nobody wrote down.
_SUSPECTING = ((cells.find,), (standing.find, drifting.find), (missing.find,))
UNSUSPECTING = tuple(stage for stage in STAGES if stage not in _SUSPECTING)
POSSIBLE_FIRST = (*STAGES[:-2], STAGES[-1], STAGES[-2])
