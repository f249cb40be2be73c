"""What it costs to leave something over, against what it costs to explain it.

Both are lengths of a description, in nats: a row that is left over costs as a misfit of a normal
error with the tolerance as its width, capped so that one wild row cannot buy a cause; a cause costs
a fixed amount. Rows closer together than a tenth of a second say the same thing and share the cost.
"""

import numpy as np

from tuneledger.arrays import BoolArray, FloatArray
from tuneledger.explain.account import Account
from tuneledger.ledger.book import Book

INDEPENDENT_S = 0.1
_CAP = 12.0  # nats a row at the most: one outlier must not outweigh a stretch, judgement

# Leaving a sheet as it was handed over at one place: what has to be gained by it.
PER_CHANGE = 8.0


def left_over(book: Book, account: Account, among: BoolArray | None = None) -> float:
    """The cost of what an account leaves, over all judged rows, or those among them."""
    edges = book.slack + account.ledger.edge_slack
    left = account.left
    if account.aside is not None:  # what a suspicion cannot have posted is left over there
        beyond = account.aside.beyond
        left = np.where(np.isnan(left), beyond, left)
    return residual_cost(book, left if among is None else np.where(among, left, np.nan), edges)


def residual_cost(book: Book, left: FloatArray, edges: FloatArray) -> float:
    """The cost of leaving `left`, degrees per row (NaN: not judged), given the slack per row."""
    rows = np.isfinite(left)
    beyond = np.clip(np.abs(left[rows]) - edges[rows], 0.0, None) / book.tolerance
    nats = misfit(beyond)
    if book.worth is not None:
        nats = nats * book.worth[rows]
    return float(nats.sum()) * row_share(book)


def most_saved(book: Book, left: FloatArray, level: float) -> float:
    """The most nats that a posting of so many degrees can save, in whichever rows it acts, be it
    that it comes and goes at a rate of its own."""
    if level == 0:
        return 0.0
    rows = np.isfinite(left)
    share, edges = left[rows] / level, book.slack[rows]
    now, then = (
        misfit(np.clip(np.abs(rest * level) - edges, 0.0, None) / book.tolerance)
        for rest in (share, share - 1.0)
    )
    on_the_way = (share > 0.0) & (share <= 1.0)
    saved = np.where(on_the_way, now, np.maximum(now - then, 0.0))
    if book.worth is not None:
        saved = saved * book.worth[rows]
    return float(saved.sum()) * row_share(book)


def settled(book: Book, left: FloatArray, values: FloatArray, edges: FloatArray) -> float:
    """The share of what is left over beyond tolerance that `values` account for; 0 to 1.

    left, values, edges: degrees per row. What `values` put beyond it that was within counts against
    them; what is within tolerance before and after plays no part.
    """
    bound = book.tolerance + edges
    rest = left - values
    rows = np.nan_to_num(np.maximum(np.abs(left), np.abs(rest))) > bound
    before, after = (residual_cost(book, np.where(rows, x, np.nan), edges) for x in (left, rest))
    return max(0.0, 1.0 - after / before) if before > 0 else 0.0


def row_share(book: Book) -> float:
    """How much one row counts: rows closer together than a tenth of a second share the cost."""
    return min(1.0, book.row_s / INDEPENDENT_S) if book.row_s else 1.0


def misfit(beyond: FloatArray) -> FloatArray:
    """Nats per row for what goes beyond, given in tolerances."""
    return np.minimum(0.5 * beyond**2, _CAP)
