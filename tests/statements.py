"""A handful of statements made by hand, for everything that shows a statement to somebody.

`ALL` maps a name to a function without arguments; each is made once and shared, since a statement
never changes. Numbers in headlines and sentences are taken from the books they are about.
"""

from collections.abc import Callable
from dataclasses import replace
from functools import cache

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
from tests.statement_parts import (
    AIR,
    AT,
    EASED,
    EXPECTED,
    STRICT,
    charge_air_cause,
    idle_cause,
    indices_of,
    ledger_of,
    running_like,
)
from tests.statements_open import (
    cannot_tell,
    hidden_rule,
    no_delivered,
    other_map,
    raised_under_load,
)
from tuneledger.evaluate.model import Evidence
from tuneledger.explain.model import Need
from tuneledger.statement.model import Statement
from tuneledger.wording import degree_span, degrees, seconds


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
        running=running_like("D", [("D", "rev-d.toml", 0.03)], 0.97, books),
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
    found = tuple(episodes(ledger_of(books), expected=EXPECTED))
    cause = idle_cause(1, ledger_of(books), found)
    work = ledger_of(books).entries[0].values
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
    found = tuple(episodes(ledger_of(books), expected=EXPECTED))
    cause = charge_air_cause(ledger_of(books), found, "D")
    return Statement(
        logs=(books,),
        sheets=(sheet("rev-d.toml", "D", [charge_air(EASED)]),),
        tolerance_deg=TOLERANCE,
        verdict="explained",
        headline=f"Hot charge air took {degrees(cause.degrees)} for {seconds(cause.seconds)}, "
        "as revision D says it should. Cool the charge air before giving any back.",
        running=running_like("D", [("D", "rev-d.toml", 0.04)], 0.98, books),
        episodes=found,
        causes=(cause, idle_cause(2, ledger_of(books), found)),
        notes=("engine speed is logged to 1 rpm, the advance channels to 0.1°",),
        needs=(),
    )


@cache
def other_revision() -> Statement:
    """The ECU behaves like revision C, although D was handed over."""
    run = climb()
    run = run.post("charge-air", along(run, AIR, AT, STRICT), revision="C")
    books = account(run, "climb-3.csv")
    found = tuple(episodes(ledger_of(books)))
    cause = replace(
        charge_air_cause(ledger_of(books), found, "C"),
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
        running=running_like("D", ranking, 0.99, books),
        episodes=found,
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
    found = tuple(e for i, b in enumerate(books) for e in episodes(ledger_of(b), i))
    parts = [acting(ledger_of(b), ledger_of(b).entries[0].values) for b in books]
    lasted = sum(s for _, s in parts)
    deg = sum(d * s for d, s in parts) / lasted
    cause = replace(
        charge_air_cause(ledger_of(books[0]), found, "D"),
        degrees=deg,
        seconds=lasted,
        episodes=indices_of(found, "charge-air"),
    )
    running = running_like("D", [("D", "rev-d.toml", 0.05)], 0.98, *books)
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
