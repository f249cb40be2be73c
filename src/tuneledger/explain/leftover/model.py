"""The one answer that every finder gives."""

from tuneledger.arrays import BoolArray, FloatArray
from tuneledger.evaluate.model import Evidence
from tuneledger.explain.expected import Objection
from tuneledger.explain.model import Cell, Kind, Need, Point, Rule
from tuneledger.record import record

# A suspicion stays below what counts as an explanation.
SUSPECTED = 0.7


@record(eq=False)
class Extra:
    """A posting found in what is left over.

    entry:      the ledger column it posts to; None where nothing can be posted, only suspected
    values:     what it posts per row, degrees; None with `entry` None
    shown:      of a suspicion that cannot be posted, what the log shows it would post; None where
                the log cannot show that
    rows:       the rows it speaks for
    correction, revision: the correction of a sheet that it is, where it is one
    name:       what to call it, where neither a sheet nor a rule names it
    objection:  why it is not ordinary, where something like it would be
    among:      how likely it is the right one, if it or one of its alternatives is
    rivals:     corrections of the same sheet that are suspected for most of its rows as well
    needs:      what would have to be logged to be sure
    lacking:    why it cannot be computed, where that is not that the log has no such channel
    reach:      of a suspicion, the least and the most that it may post per row, nothing included;
                None where the sheet does not say
    leeway:     degrees per row, downwards and upwards, that it may post besides, where the log
                cannot tell a threshold or rounds what a curve follows
    price:      nats that it adds to the length of the explanation
    alone:      where it posts, nothing else does: it takes the place of all that acts
    table:      it sets the advance by a table of its own, in place of the map
    drifts:     a suspicion that a whole course speaks for: no rule could do the same but a curve
    """

    kind: Kind
    rows: BoolArray
    certainty: float
    price: float = 6.0
    entry: str | None = None
    values: FloatArray | None = None
    shown: FloatArray | None = None
    reach: tuple[FloatArray, FloatArray] | None = None
    leeway: tuple[FloatArray, FloatArray] | None = None
    evidence: Evidence = Evidence.INFERRED
    correction: str | None = None
    revision: str | None = None
    channel: str | None = None
    rule: Rule | None = None
    expected: str | None = None
    rivals: tuple[str, ...] = ()
    needs: tuple[Need, ...] = ()
    lacking: str = ""
    points: tuple[Point, ...] = ()
    cells: tuple[Cell, ...] = ()
    alternatives: tuple[Rule, ...] = ()
    among: float = 1.0
    name: str = ""
    objection: Objection | None = None
    alone: bool = False
    table: bool = False
    drifts: bool = False
