"""All that is told of a cause, before it is put into words."""

from tuneledger.explain.expected import Objection
from tuneledger.explain.model import Kind
from tuneledger.record import record
from tuneledger.wording import listing


@record
class Told:
    """All that a sentence about one cause needs.

    rivals: what else of the sheet may have done as much, and cannot be computed either
    lacking: why it cannot be computed, where that is not that the log has no such channel; with
             nothing missing, it comes out all the same
    understood: a sheet lists it, and it is sure
    table: it is a table in place of the map, in no file
    listed: in which sheet it may stand, as one that is off there or out of reach; else empty
    still: the channel of a delivered advance that never moves, else empty
    alike: other revisions that have it so and fit the logs as well
    guarding: channels that a rule in no file takes advance by, and that guards of an engine watch
    throughout: it is one amount that nothing starts or stops, in no file
    rate: delivered moves only so fast, and is behind what was asked for
    moments: when it comes and goes, s, where it is always as much and nothing logged goes with it
    stands: the one advance at which delivered stands wherever a fixed amount acts, in degrees
    """

    kind: Kind
    name: str
    degrees: float
    seconds: float
    peak: float
    span: tuple[float, float] | None = None
    objection: Objection | None = None
    revision: str | None = None
    supplied: str | None = None
    reason: str | None = None
    channel: str | None = None
    expected: str | None = None
    raises: bool = False
    load_told: bool = True
    switched_off: bool = False
    otherwise: bool = False
    left_open: bool = False
    rewritten: bool = False
    rule: str = ""
    missing: tuple[str, ...] = ()
    lacking: str = ""
    rivals: tuple[str, ...] = ()
    open_at: str = ""
    shows: tuple[float, float] | None = None
    changed: tuple[str, ...] = ()
    stretches: int = 1
    above_map: float = 0.0  # most that delivered stands above the supplied map under load, degrees
    still: str = ""
    guarding: tuple[str, ...] = ()
    stands: float | None = None
    alike: tuple[str, ...] = ()
    understood: bool = False
    table: bool = False
    throughout: bool = False
    rate: bool = False
    moments: tuple[float, ...] = ()
    listed: str = ""

    @property
    def whose(self) -> str:
        """The revision that has it so, or the several between which the logs cannot decide."""
        return listing([str(self.revision), *self.alike], "or")
