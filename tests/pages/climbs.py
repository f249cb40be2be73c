"""Statements that fill a page: many entries at once, many rows, and names meant to do harm."""

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
from tests.statements import explained_by_charge_air, other_map
from tuneledger.arrays import FloatArray
from tuneledger.evaluate.model import Evidence
from tuneledger.explain.model import Cause, Need, Point, Rank, Rule, Running, Span
from tuneledger.statement.model import Statement, SuppliedSheet

STRICT = (0.0, -1.0, -4.0, -7.0)
EASED = (0.0, 0.0, -2.0, -5.0)
WET = {
    "id": "wet-road",
    "title": "Wet-road switch",
    "reason": "driver switch",
    "amount": -4.0,
    "when": [
        {"channel": "Wet switch", "is": "on"},
        {"signal": "throttle position", "unit": "%", "above": 55.0, "release": 50.0},
    ],
    "expected": "only in rain",
    "logged_as": "Wet share",
}


@cache
def busy(length_s: float = 60.0, rate_hz: float = 100.0) -> Statement:
    """Revision C runs; the wet switch, the governor, knock and something unknown act as well."""
    run = climb(length_s, rate_hz)
    t, plate = run.times, run.signals["throttle position"]
    noise = np.random.default_rng(7)
    speed = np.round(run.signals["engine speed"] + noise.normal(0, 6, t.size))
    pressure = np.round(run.signals["manifold absolute pressure"] + noise.normal(0, 0.6, t.size), 1)
    signals = {**run.signals, "engine speed": speed, "manifold absolute pressure": pressure}
    run = replace(run, signals=signals)
    s = t * 60.0 / length_s
    wet = np.where((s > 23) & (s < 38), 1.0, 0.0)
    share = np.where((wet > 0.5) & (plate > 55), -4.0, 0.0)
    knock = _knock(t, s, length_s)
    unknown = np.where((s > 43) & (s < 45.2), 1.6, 0.0)
    hot = along(run, "intake air temperature", (20.0, 40.0, 60.0, 80.0), STRICT)
    run = run.post("charge-air", hot, revision="C")
    run = run.post("wet-road", share, evidence=Evidence.LOGGED, channel="Wet share", revision="D")
    run = run.post("knock", knock, evidence=Evidence.LOGGED, channel="Ping pull")
    run = run.post("idle-governor", governor(run), evidence=Evidence.INFERRED)
    run = run.post("altitude", np.zeros_like(t), revision="C").post("nobody", unknown)
    for name, values in (("Wet switch", wet), ("Wet share", share), ("Ping pull", knock)):
        run = run.carry(name, values)
    run = run.carry("Ping loudness", np.round(np.abs(noise.normal(1, 0.15, t.size)) - knock, 2))
    books = account(run, "climb-2.csv")
    assert books.ledger is not None
    known = tuple(e for e in books.ledger.entries if e.correction != "nobody")
    ledger = replace(books.ledger, entries=known)
    books = replace(books, ledger=ledger)
    found = tuple(episodes(ledger, expected=frozenset({"idle-governor"})))
    return Statement(
        logs=(books,),
        sheets=(
            sheet("rev-d.toml", "D", [charge_air(EASED), WET]),
            sheet("rev-c.toml", "C", [charge_air(STRICT), WET]),
        ),
        tolerance_deg=TOLERANCE,
        verdict="unexplained",
        headline="Behaves like revision C, not D: Hot charge air took up to −7.0°, the wet-road "
        "switch 4.0° more. Read the ECU back before loading anything.",
        running=Running(
            supplied="D",
            best="C",
            matches_supplied=False,
            certainty=0.97,
            ranking=(Rank("C", "rev-c.toml", 0.11), Rank("D", "rev-d.toml", 1.93)),
            spans=(Span(0, 0.0, float(t[-1]), "C"),),
        ),
        episodes=found,
        causes=_causes(ledger.entries, found, books),
        notes=("delivered advance is logged one sample after scheduled advance",),
        needs=(Need("Fan", "it could tell what adds 1.6° for 2.2 s near 44 s"),),
    )


def _knock(t: FloatArray, s: FloatArray, length_s: float) -> FloatArray:
    """Pulled back at once, given back slowly, twice under load."""
    out = np.zeros_like(t)
    for start, deg in ((16.0, -3.0), (33.5, -2.4)):
        since = (s - start) * length_s / 60.0
        out = np.where(since >= 0, np.minimum(out, np.minimum(0, deg + since * 0.9)), out)
    return np.round(out, 1)


def _causes(entries, found, books):  # type: ignore[no-untyped-def]
    def one(rank: int, correction: str, **more) -> Cause:  # type: ignore[no-untyped-def]
        values = next(e.values for e in entries if e.correction == correction)
        deg, lasted = acting(books.ledger, values)
        where = tuple(
            i for i, e in enumerate(found) if any(x.correction == correction for x in e.entries)
        )
        fields = {
            "kind": "correction",
            "revision": None,
            "channel": None,
            "certainty": 0.95,
            "expected": False,
            "next_step": "",
            **more,
        }
        return Cause(
            rank=rank, correction=correction, degrees=deg, seconds=lasted, episodes=where, **fields
        )

    unknown = Cause(
        rank=4,
        kind="unknown",
        correction=None,
        revision=None,
        channel=None,
        degrees=1.6,
        seconds=2.2,
        certainty=0.3,
        expected=False,
        says="1.6° were added for 2.2 s near 44 s; no sheet and no channel explains it.",
        next_step="Log Fan and Wet switch on a light drive.",
        evidence=(Point("against", "nothing changes at its edges", "Plate", 60.0),),
        episodes=tuple(i for i, e in enumerate(found) if e.unaccounted_deg > 0.05),
    )
    rule = Rule(
        ({"channel": "Wet switch", "is": 1}, {"channel": "Plate", "unit": "%", "above": 55.0}), -4.0
    )
    return (
        one(
            1,
            "charge-air",
            kind="other revision",
            revision="C",
            says="Revision C takes 4° at 60 °C where D takes 2°.",
            next_step="Read the ECU back before loading anything; then compare C with D.",
            evidence=(
                Point("for", "revision C leaves 0.11° rms, D leaves 1.93°"),
                Point("for", "it begins where Air in passes 40 °C", "Air in", 40.0),
                Point("against", "revision C was not handed over as the running one"),
            ),
        ),
        one(
            2,
            "wet-road",
            channel="Wet share",
            revision="D",
            says="The wet-road switch took 4.0° with the throttle open, as both sheets say.",
            next_step="Ask the driver whether the switch was meant to be on.",
            evidence=(Point("for", "Wet share carries it, sample by sample", "Wet share"),),
            rule=rule,
        ),
        one(
            3,
            "knock",
            channel="Ping pull",
            says="Knock control took up to 3.0° under load and gave it back at 0.9° per second.",
            next_step="Find out why before giving any back.",
            evidence=(Point("for", "it starts when Ping loudness passes 2", "Ping loudness", 2.0),),
        ),
        unknown,
        one(
            5,
            "idle-governor",
            expected=True,
            says="The idle governor holds the idle speed with closed throttle.",
        ),
    )


HOSTILE = "</script><script>window.harmed = 1</script><img src=x onerror='window.harmed=2'>"


@cache
def hostile() -> Statement:
    """Names, titles and sentences that are markup, as a stranger's files may hold."""
    base = explained_by_charge_air()
    books = base.logs[0]
    assert books.ledger is not None
    channels = tuple(
        replace(c, name=f"{HOSTILE}{c.column}", unit="<b>&\u2028") for c in books.log.channels
    )
    named = dict(zip(books.log.channels, channels, strict=True))
    log = replace(books.log, file=f"{HOSTILE}.csv", channels=channels, time=channels[0])
    roles = replace(
        books.roles,
        by_signal={
            key: replace(role, channel=named[role.channel], why=(HOSTILE,))
            for key, role in books.roles.by_signal.items()
        },
    )
    entries = tuple(replace(e, correction=HOSTILE, channel=HOSTILE) for e in books.ledger.entries)
    ledger = replace(books.ledger, entries=entries)
    cause = replace(
        base.causes[0],
        correction=HOSTILE,
        says=HOSTILE + "\x1b[31m",
        next_step=HOSTILE,
        evidence=(Point("for", HOSTILE, f"{HOSTILE}5", 40.0),),
    )
    return replace(
        base,
        logs=(replace(books, log=log, roles=roles, ledger=ledger),),
        headline=HOSTILE,
        causes=(cause,),
        notes=(HOSTILE,),
        needs=(Need(HOSTILE, HOSTILE),),
    )


@cache
def two_maps() -> Statement:
    """The car runs with revision C's map, which is 1.5° lower than D's in one row."""
    base = other_map()
    (own,) = base.sheets
    spark = own.calibration.spark
    values = (
        *spark.map.values[:3],
        tuple(v - 1.5 for v in spark.map.values[3]),
        spark.map.values[4],
    )
    lowered = spark.model_copy(update={"map": spark.map.model_copy(update={"values": values})})
    c = own.calibration.model_copy(update={"revision": "C", "spark": lowered})
    return replace(
        base,
        sheets=(own, SuppliedSheet("rev-c.toml", c)),
        causes=(replace(base.causes[0], revision="C", file="rev-c.toml"),),
    )
