"""A handful of statements made by hand, for everything that shows a statement to somebody.

`ALL` maps a name to a function without arguments; each is made once and shared, since a statement
never changes. Numbers in headlines and sentences are taken from the books they are about.
"""

from collections.abc import Callable
from dataclasses import replace
from functools import cache

import numpy as np

from tests.runs import (
    TOLERANCE,
    account,
    acting,
    along,
    charge_air,
    climb,
    episodes,
    governor,
    sheet,
)
from tuneledger.evaluate.model import Evidence
from tuneledger.explain.model import Cause, Cell, Curve, Need, Point, Rank, Rule, Running, Span
from tuneledger.ledger.model import Episode, Ledger
from tuneledger.statement.model import LogAccount, Statement
from tuneledger.wording import count, degree_span, degrees, seconds

AT = (20.0, 40.0, 60.0, 80.0)
EASED = (0.0, 0.0, -2.0, -5.0)
STRICT = (0.0, -1.0, -4.0, -7.0)
AIR = "intake air temperature"
EXPECTED = frozenset({"idle-governor"})


@cache
def agrees() -> Statement:
    """One log, one sheet, nothing beyond tolerance."""
    books = account(climb(), "climb-1.csv")
    return Statement(
        logs=(books,),
        sheets=(sheet("rev-d.toml", "D"),),
        tolerance_deg=TOLERANCE,
        verdict="agrees",
        headline="Agrees: delivered stays within 0.1° of scheduled for all 60 s. "
        "The crank was not checked.",
        running=_running("D", [("D", "rev-d.toml", 0.03)], 0.97, books),
        episodes=(),
        causes=(),
        notes=("delivered advance is logged one sample after scheduled advance",),
        needs=(),
    )


@cache
def idle_only() -> Statement:
    """A log alone: the idle governor at work, and nothing else."""
    run = climb()
    run = run.post("idle-governor", governor(run), evidence=Evidence.INFERRED)
    books = account(run, "warm-up.csv")
    found = tuple(episodes(_ledger(books), expected=EXPECTED))
    cause = _idle(1, _ledger(books), found)
    work = _ledger(books).entries[0].values
    reach = degree_span(float(work.min()), float(work.max()), 0)
    return Statement(
        logs=(books,),
        sheets=(),
        tolerance_deg=TOLERANCE,
        verdict="expected",
        headline=f"Differs only at idle ({seconds(cause.seconds)}, {reach}), within the idle "
        "governor's reach; off idle within 0.1°. The crank was not checked.",
        running=None,
        episodes=found,
        causes=(cause,),
        notes=("no sheet was given: nothing could be computed, only compared",),
        needs=(),
    )


@cache
def explained_by_charge_air() -> Statement:
    """The supplied sheet explains it: hot charge air, and the governor at idle."""
    run = climb()
    run = run.post("charge-air", along(run, AIR, AT, EASED), revision="D")
    run = run.post("idle-governor", governor(run), evidence=Evidence.INFERRED)
    books = account(run, "climb-2.csv")
    found = tuple(episodes(_ledger(books), expected=EXPECTED))
    cause = _charge_air(_ledger(books), found, "D")
    return Statement(
        logs=(books,),
        sheets=(sheet("rev-d.toml", "D", [charge_air(EASED)]),),
        tolerance_deg=TOLERANCE,
        verdict="explained",
        headline=f"Hot charge air took {degrees(cause.degrees)} for {seconds(cause.seconds)}, "
        "as revision D says it should. Cool the charge air before giving any back.",
        running=_running("D", [("D", "rev-d.toml", 0.04)], 0.98, books),
        episodes=found,
        causes=(cause, _idle(2, _ledger(books), found)),
        notes=("engine speed is logged to 1 rpm, the advance channels to 0.1°",),
        needs=(),
    )


@cache
def other_revision() -> Statement:
    """The ECU behaves like revision C, although D was handed over."""
    run = climb()
    run = run.post("charge-air", along(run, AIR, AT, STRICT), revision="C")
    books = account(run, "climb-3.csv")
    found = tuple(episodes(_ledger(books)))
    cause = replace(
        _charge_air(_ledger(books), found, "C"),
        kind="other revision",
        certainty=0.99,
        next_step="Read the ECU back before loading anything; then compare C with D.",
    )
    ranking = [("C", "rev-c.toml", 0.03), ("D", "rev-d.toml", 1.94)]
    return Statement(
        logs=(books,),
        sheets=(
            sheet("rev-d.toml", "D", [charge_air(EASED)]),
            sheet("rev-c.toml", "C", [charge_air(STRICT)]),
        ),
        tolerance_deg=TOLERANCE,
        verdict="explained",
        headline=f"Behaves like revision C, not D: charge-air took {degrees(cause.degrees)} for "
        f"{seconds(cause.seconds)}. Read the ECU back before loading anything.",
        running=_running("D", ranking, 0.99, books),
        episodes=found,
        causes=(cause,),
        notes=(),
        needs=(),
    )


@cache
def raised_under_load() -> Statement:
    """Stop: a correction adds advance under boost."""
    run = climb()
    adds = np.where(run.signals["manifold absolute pressure"] > 180, 5.0, 0.0)
    run = run.post("hot-air", adds, revision="B").post("idle-governor", governor(run))
    books = account(run, "pull-1.csv")
    found = tuple(episodes(_ledger(books), expected=EXPECTED))
    deg, lasted = acting(_ledger(books), adds)
    cause = Cause(
        rank=1,
        kind="correction",
        correction="hot-air",
        revision="B",
        channel=None,
        degrees=deg,
        seconds=lasted,
        certainty=0.97,
        expected=False,
        says="The hot-air correction adds 5.0° above 180 kPa, where it should take some away.",
        next_step="No load until its sign is corrected; send the sheet's author this statement.",
        evidence=(
            Point("for", "it starts and ends with Boost abs at 180 kPa", "Boost abs", 180.0),
            Point("for", "revision B computes it to within 0.1°"),
        ),
        episodes=_of(found, "hot-air"),
        raises_under_load=True,
    )
    return Statement(
        logs=(books,),
        sheets=(sheet("rev-b.toml", "B"),),
        tolerance_deg=TOLERANCE,
        verdict="explained",
        headline="Stop: delivered is 5.0° above the map at 190 kPa; the hot-air correction adds. "
        "No load until it is corrected.",
        running=_running("B", [("B", "rev-b.toml", 0.05)], 0.95, books),
        episodes=found,
        causes=(cause, _idle(2, _ledger(books), found)),
        notes=(),
        needs=(),
    )


@cache
def cannot_tell() -> Statement:
    """The one correction that could explain it reads a channel that the log does not carry."""
    run = climb()
    taken = np.where((run.times > 24) & (run.times < 28.5), -6.0, 0.0)
    books = account(run.post("guess", taken), "climb-4.csv")
    unknown = np.where(taken == 0, 0.0, np.nan)
    entry = replace(_ledger(books).entries[0], correction="oil-guard", values=unknown, revision="D")
    books = replace(books, ledger=replace(_ledger(books), entries=(entry,)))
    cause = Cause(
        rank=1,
        kind="correction",
        correction="oil-guard",
        revision="D",
        channel=None,
        degrees=-6.0,
        seconds=4.5,
        certainty=0.6,
        expected=False,
        says="Only the oil guard of revision D could take 6.0° here, and what it reads is not "
        "logged.",
        next_step="Log Oil pressure on a light drive and send that log.",
        evidence=(Point("for", "no other correction of revision D reaches −6.0°"),),
        episodes=(0,),
    )
    found = tuple(replace(e, unaccounted_deg=float("nan")) for e in episodes(_ledger(books)))
    return Statement(
        logs=(books,),
        sheets=(sheet("rev-d.toml", "D"),),
        tolerance_deg=TOLERANCE,
        verdict="cannot tell",
        headline="Cannot tell yet: −6.0° for 4.5 s under load; the oil guard could do it, but Oil "
        "pressure is not logged.",
        running=_running("D", [("D", "rev-d.toml", None)], 0.5, books),
        episodes=found,
        causes=(cause,),
        notes=(),
        needs=(Need("Oil pressure", "the correction 'oil guard' reads it and the log lacks it"),),
    )


@cache
def no_delivered() -> Statement:
    """A log without delivered advance: there is nothing to reconcile, and no ledger."""
    return Statement(
        logs=(account(climb(), "half-a-log.csv", delivered=False),),
        sheets=(sheet("rev-d.toml", "D"),),
        tolerance_deg=TOLERANCE,
        verdict="cannot tell",
        headline="Cannot tell: the log carries no delivered advance.",
        running=None,
        episodes=(),
        causes=(),
        notes=(),
        needs=(Need("delivered advance", "without it nobody knows what the ECU really used"),),
    )


@cache
def hidden_rule() -> Statement:
    """No sheet: a rule was read out of the log, and another channel fits as well."""
    run = climb()
    plate = run.signals["throttle position"]
    wet = np.where((run.times > 20) & (run.times < 45), 1.0, 0.0)
    taken = np.where((wet > 0.5) & (plate > 55), -4.0, 0.0)
    run = run.carry("Wet switch", wet).carry("Fan", wet)
    books = account(run.post("rule-1", taken, evidence=Evidence.INFERRED), "damp.csv")
    found = tuple(episodes(_ledger(books)))
    deg, lasted = acting(_ledger(books), taken)
    open_plate = {"channel": "Plate", "unit": "%", "above": 55.0}
    cause = Cause(
        rank=1,
        kind="hidden rule",
        correction="rule-1",
        revision=None,
        channel="Wet switch",
        degrees=deg,
        seconds=lasted,
        certainty=0.62,
        expected=False,
        says=f"A rule that no file contains takes {degrees(deg)} while Wet switch is on and Plate "
        "is above 55 %; Fan fits equally.",
        next_step="Next log: light throttle, wet switch on, fan off.",
        evidence=(
            Point("for", "both edges fall on the wet switch", "Wet switch", 0.5),
            Point("for", "it is silent below 55 % of Plate", "Plate", 55.0),
            Point("against", "Fan switches at the same instants", "Fan", 0.5),
        ),
        rule=Rule(({"channel": "Wet switch", "is": 1}, open_plate), -4.0),
        alternatives=(
            Rule(({"channel": "Fan", "is": 1}, open_plate), -4.0),
            Rule(
                ({"channel": "Wet switch", "is": 1},), along=Curve("Plate", (54, 56), (0.0, -4.0))
            ),
        ),
        episodes=tuple(range(len(found))),
    )
    return Statement(
        logs=(books,),
        sheets=(),
        tolerance_deg=TOLERANCE,
        verdict="unexplained",
        headline=f"Cannot tell yet: {degrees(deg)} for {seconds(lasted)}; wet switch and fan fit "
        "equally. Next log: light throttle, wet switch on, fan off.",
        running=None,
        episodes=found,
        causes=(cause,),
        notes=("Fan was exported as a number between 0 and 1; taken as on from 0.5",),
        needs=(),
    )


@cache
def other_map() -> Statement:
    """The log's scheduled advance is not the supplied map in one corner."""
    run = climb()
    corner = (run.signals["manifold absolute pressure"] > 140) & (
        run.signals["engine speed"] > 5000
    )
    run = replace(run, scheduled=run.scheduled - np.where(corner, 2.0, 0.0))
    books = account(run, "climb-5.csv")
    lasted = float(corner.sum() * 0.05)
    rows = np.flatnonzero(corner)
    last = int(rows[0] + np.argmax(np.diff(rows, append=rows[-1] + 9) > 1))
    stretch = slice(int(rows[0]), last + 1)
    asked = float(run.scheduled[stretch].mean())
    episode = Episode(
        log=0,
        first=int(rows[0]),
        last=last,
        start_s=float(run.times[rows[0]]),
        end_s=float(run.times[last]),
        about="map",
        regime="load",
        scheduled_deg=asked,
        delivered_deg=asked,
        difference_deg=-2.0,
        unaccounted_deg=0.0,
        expected=False,
    )
    cause = Cause(
        rank=1,
        kind="other map",
        correction=None,
        revision=None,
        channel="Adv asked",
        degrees=-2.0,
        seconds=lasted,
        certainty=0.96,
        expected=False,
        says="The map that the ECU reads is 2.0° lower than revision D's from 150 kPa and 5000 "
        "rpm up.",
        next_step="Read the ECU back and compare its map with revision D's.",
        evidence=(Point("for", "delivered follows scheduled everywhere"),),
        cells=(
            Cell((150.0, 5000.0), -2.0, 6.2),
            Cell((150.0, 7000.0), -2.0, 4.1),
            Cell((200.0, 5000.0), -2.0, 5.5),
            Cell((200.0, 7000.0), -2.0, 7.9),
        ),
        episodes=(0,),
    )
    return Statement(
        logs=(books,),
        sheets=(sheet("rev-d.toml", "D"),),
        tolerance_deg=TOLERANCE,
        verdict="explained",
        headline=f"The ECU's map is not revision D's: −2.0° above 140 kPa and 5000 rpm, for "
        f"{seconds(lasted)}. Nothing else differs.",
        running=_running("D", [("D", "rev-d.toml", 0.8)], 0.9, books, best=None),
        episodes=(episode,),
        causes=(cause,),
        notes=(),
        needs=(),
    )


@cache
def two_logs() -> Statement:
    """Two logs of one day, of different length and rate; the second is hotter."""
    books = []
    for run, file in (
        (climb(60.0, 20.0), "morning.csv"),
        (climb(45.0, 10.0, 9.0), "afternoon.csv"),
    ):
        posted = run.post("charge-air", along(run, AIR, AT, EASED), revision="D")
        books.append(account(posted, file))
    found = tuple(e for i, b in enumerate(books) for e in episodes(_ledger(b), i))
    parts = [acting(_ledger(b), _ledger(b).entries[0].values) for b in books]
    lasted = sum(s for _, s in parts)
    deg = sum(d * s for d, s in parts) / lasted
    cause = replace(
        _charge_air(_ledger(books[0]), found, "D"),
        degrees=deg,
        seconds=lasted,
        episodes=_of(found, "charge-air"),
    )
    running = _running("D", [("D", "rev-d.toml", 0.05)], 0.98, *books)
    return Statement(
        logs=tuple(books),
        sheets=(sheet("rev-d.toml", "D", [charge_air(EASED)]),),
        tolerance_deg=TOLERANCE,
        verdict="explained",
        headline=f"Hot charge air took {degrees(deg)} for {seconds(lasted)} over two logs, as "
        "revision D says it should.",
        running=running,
        episodes=found,
        causes=(cause,),
        notes=("afternoon.csv is logged at 10 Hz: an event under 0.2 s may be missed",),
        needs=(),
    )


@cache
def crowded() -> Statement:
    """Far more of everything than fits on a screen, with names that try to steer the terminal."""
    base = explained_by_charge_air()
    first = base.causes[0]
    causes = tuple(
        replace(
            first,
            rank=i + 1,
            correction=f"trim-{i}",
            degrees=-4.0 + 0.2 * i,
            seconds=30.0 / (i + 1),
            certainty=0.9,
            says=f"Trim {i} follows a channel of a very long name, \x1b[31mBank {i}\x1b[0m "
            "temperature of the second exhaust housing measured behind the turbine.",
        )
        for i in range(15)
    )
    return replace(
        base,
        causes=causes,
        episodes=tuple(
            replace(base.episodes[0], start_s=float(i), end_s=i + 0.4) for i in range(200)
        ),
        notes=tuple(f"channel Spare {i} is stuck at 0\rfor the whole log" for i in range(25)),
        needs=tuple(
            Need(f"Probe {i}\u202e", f"the correction 'guard {i}' reads it") for i in range(9)
        ),
    )


ALL: dict[str, Callable[[], Statement]] = {
    f.__name__: f
    for f in (
        agrees,
        idle_only,
        explained_by_charge_air,
        other_revision,
        raised_under_load,
        cannot_tell,
        no_delivered,
        hidden_rule,
        other_map,
        two_logs,
        crowded,
    )
}


def _ledger(books: LogAccount) -> Ledger:
    assert books.ledger is not None
    return books.ledger


def _of(found: tuple[Episode, ...], correction: str) -> tuple[int, ...]:
    return tuple(
        i for i, e in enumerate(found) if any(x.correction == correction for x in e.entries)
    )


def _idle(rank: int, ledger: Ledger, found: tuple[Episode, ...]) -> Cause:
    values = next(e.values for e in ledger.entries if e.correction == "idle-governor")
    deg, lasted = acting(ledger, values)
    idle = _of(found, "idle-governor")
    reach = degree_span(float(values.min()), float(values.max()))
    return Cause(
        rank=rank,
        kind="correction",
        correction="idle-governor",
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


def _charge_air(ledger: Ledger, found: tuple[Episode, ...], revision: str) -> Cause:
    values = next(e.values for e in ledger.entries if e.correction == "charge-air")
    deg, lasted = acting(ledger, values)
    return Cause(
        rank=1,
        kind="correction",
        correction="charge-air",
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
        episodes=_of(found, "charge-air"),
    )


def _running(
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
