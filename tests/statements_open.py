"""Hand-made statements that leave something to settle: a danger, a rule in no file, a lack."""

from dataclasses import replace
from functools import cache

import numpy as np

from tests.runs import (
    TOLERANCE,
    account,
    acting,
    climb,
    episodes,
    governor,
    sheet,
)
from tests.statement_parts import EXPECTED, idle_cause, indices_of, ledger_of, running_like
from tuneledger.evaluate.model import Evidence
from tuneledger.explain.model import Cause, Cell, Curve, Need, Point, Rule
from tuneledger.ledger.model import Episode
from tuneledger.statement.model import Statement
from tuneledger.wording import degrees, seconds


@cache
def raised_under_load() -> Statement:
    """Stop: a correction adds advance under boost."""
    run = climb()
    adds = np.where(run.signals["manifold absolute pressure"] > 180, 5.0, 0.0)
    run = run.post("hot-air", adds, revision="B").post("idle-governor", governor(run))
    books = account(run, "pull-1.csv")
    found = tuple(episodes(ledger_of(books), expected=EXPECTED))
    deg, lasted = acting(ledger_of(books), adds)
    cause = Cause(
        rank=1,
        kind="correction",
        correction="hot-air",
        entry="hot-air",
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
        episodes=indices_of(found, "hot-air"),
        raises_under_load=True,
    )
    return Statement(
        logs=(books,),
        sheets=(sheet("rev-b.toml", "B"),),
        tolerance_deg=TOLERANCE,
        verdict="explained",
        headline="Stop: delivered is 5.0° above the map at 190 kPa; the hot-air correction adds. "
        "No load until it is corrected.",
        running=running_like("B", [("B", "rev-b.toml", 0.05)], 0.95, books),
        episodes=found,
        causes=(cause, idle_cause(2, ledger_of(books), found)),
        notes=(),
        needs=(),
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
    found = tuple(episodes(ledger_of(books)))
    deg, lasted = acting(ledger_of(books), taken)
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
        running=running_like("D", [("D", "rev-d.toml", 0.8)], 0.9, books, best=None),
        episodes=(episode,),
        causes=(cause,),
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
    entry = replace(
        ledger_of(books).entries[0], correction="oil-guard", values=unknown, revision="D"
    )
    books = replace(books, ledger=replace(ledger_of(books), entries=(entry,)))
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
    found = tuple(replace(e, unaccounted_deg=float("nan")) for e in episodes(ledger_of(books)))
    return Statement(
        logs=(books,),
        sheets=(sheet("rev-d.toml", "D"),),
        tolerance_deg=TOLERANCE,
        verdict="cannot tell",
        headline="Cannot tell yet: −6.0° for 4.5 s under load; the oil guard could do it, but Oil "
        "pressure is not logged.",
        running=running_like("D", [("D", "rev-d.toml", None)], 0.5, books),
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
