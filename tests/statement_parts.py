"""What several hand-made statements share: ledgers, causes and who ran."""

from tests.runs import (
    acting,
)
from tuneledger.explain.model import Cause, Point, Rank, Running, Span
from tuneledger.ledger.model import Episode, Ledger
from tuneledger.statement.model import LogAccount
from tuneledger.wording import count, degree_span, degrees

AT = (20.0, 40.0, 60.0, 80.0)
EASED = (0.0, 0.0, -2.0, -5.0)
STRICT = (0.0, -1.0, -4.0, -7.0)
AIR = "intake air temperature"
EXPECTED = frozenset({"idle-governor"})


def ledger_of(books: LogAccount) -> Ledger:
    assert books.ledger is not None
    return books.ledger


def indices_of(found: tuple[Episode, ...], correction: str) -> tuple[int, ...]:
    return tuple(
        i for i, e in enumerate(found) if any(x.correction == correction for x in e.entries)
    )


def idle_cause(rank: int, ledger: Ledger, found: tuple[Episode, ...]) -> Cause:
    values = next(e.values for e in ledger.entries if e.correction == "idle-governor")
    deg, lasted = acting(ledger, values)
    idle = indices_of(found, "idle-governor")
    reach = degree_span(float(values.min()), float(values.max()))
    return Cause(
        rank=rank,
        kind="correction",
        correction="idle-governor",
        entry="idle-governor",
        revision=None,
        channel=None,
        degrees=deg,
        seconds=lasted,
        certainty=0.94,
        expected=True,
        says=f"The idle governor moved the advance by {reach} in "
        f"{count(len(idle), 'stretch', 'stretches')} to hold the idle speed; that is its work.",
        next_step="Nothing to do.",
        evidence=(Point("for", "closed throttle, and it follows Idle aim − Rev", "Plate", 2.0),),
        episodes=idle,
    )


def charge_air_cause(ledger: Ledger, found: tuple[Episode, ...], revision: str) -> Cause:
    values = next(e.values for e in ledger.entries if e.correction == "charge-air")
    deg, lasted = acting(ledger, values)
    return Cause(
        rank=1,
        kind="correction",
        correction="charge-air",
        entry="charge-air",
        revision=revision,
        channel=None,
        degrees=deg,
        seconds=lasted,
        certainty=0.98,
        expected=False,
        says=f"Charge air rose to 61 °C, and revision {revision} takes up to "
        f"{degrees(float(values.min()))} for that.",
        next_step="Ask first why the air was so hot; only then think of giving any back.",
        evidence=(
            Point("for", f"revision {revision} computes it to within 0.1°"),
            Point("for", "it grows with Air in, and is silent below 40 °C", "Air in", 40.0),
        ),
        episodes=indices_of(found, "charge-air"),
    )


def running_like(
    supplied: str,
    ranking: list[tuple[str, str, float | None]],
    certainty: float,
    *books: LogAccount,
    best: str | None = "first",
) -> Running:
    like = ranking[0][0] if best == "first" else best
    spans = tuple(Span(i, 0.0, b.log.duration_s, like) for i, b in enumerate(books))
    return Running(
        supplied=supplied,
        best=like,
        matches_supplied=like == supplied,
        certainty=certainty,
        ranking=tuple(Rank(*row) for row in ranking),
        spans=spans,
    )
