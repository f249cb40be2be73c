"""Kinds E, E2 and F: the ECU runs something else than the first sheet says."""

from dataclasses import replace
from typing import Any

import numpy as np

from tuneledger.car import corrections as make
from tuneledger.car import profiles
from tuneledger.car.cases.ordinary import file_of, filler, shuffled
from tuneledger.car.cases.setting import Setting, set_up, weather
from tuneledger.car.cases.story import Sheet, Story, UnfitError, sheet, with_correction, with_spark
from tuneledger.car.maps import changed, in_axis_unit
from tuneledger.signals import SIGNALS

Random = np.random.Generator
MAKERS = (make.air, make.air_by_load, make.wet, make.pit, make.oil_heat, make.boost, make.armed,
          make.coolant)  # fmt: skip
LADDERS = (("B", "C", "D", "E"), ("3", "4", "5", "6"), ("v1.1", "v1.2", "v1.3", "v1.4"),
           ("march", "april", "may", "june"))  # fmt: skip


def warm(rng: Random) -> Setting:
    """A hard drive on a day on which heat soaks into the intake, 15 to 30 °C of it."""
    return set_up(rng, profiles.HARD, replace(weather(rng), soak_c=float(rng.uniform(15, 30))))


def weakened(rng: Random, c: make.Correction) -> dict[str, Any]:
    """How a later revision changed it: off, gone, or eased to a third."""
    how = str(rng.choice(["off", "gone", "eased"]))
    if how == "off":
        return {"enabled": False}
    if how == "gone":
        return {"drop": True}
    if "amount" in c:
        return {"amount": round(c["amount"] / 3, 1)}
    return {"values": _scaled(c["values"], 1 / 3)}


def _scaled(values: Any, by: float) -> Any:
    if isinstance(values, list):
        return [_scaled(v, by) for v in values]
    return round(values * by, 1) + 0.0


def base_of(s: Setting, count: int = 1) -> tuple[Sheet, list[make.Correction]]:
    """The running sheet of a stale story, and its featured corrections."""
    picks = s.rng.permutation(len(MAKERS))[:count]
    featured = [MAKERS[i](s.bench) for i in picks.tolist()]
    ladder = LADDERS[int(s.rng.integers(len(LADDERS)))]
    rest = filler(s, {c["id"] for c in featured}, 4)
    if s.rng.random() < 0.4:
        rest.append(make.idle(s.bench))
    return sheet(s, shuffled(s.rng, [*featured, *rest]), ladder[1]), featured


def ladder_of(running: Sheet) -> tuple[str, ...]:
    """The ladder of revisions, oldest first, that this sheet's revision is a rung of."""
    return next(ladder for ladder in LADDERS if running["revision"] in ladder)


def among_several(rng: Random) -> Story:
    """E: a stale sheet comes first, the right one is among the others."""
    s = warm(rng)
    running, (one,) = base_of(s)
    ladder = ladder_of(running)
    stale = with_correction(running, one["id"], ladder[2], "Changed after the test day",
                            **weakened(rng, one))  # fmt: skip
    others = [running]
    if rng.random() < 0.5:
        older = with_correction(running, one["id"], ladder[0], "As first driven", enabled=False)
        softer = changed(rng, s.the_map, busiest(s), -2.5, 1)
        others.append(with_spark(older, map=softer))
    others = [others[i] for i in rng.permutation(len(others)).tolist()]
    sheets = [(file_of(x["revision"]), x) for x in (stale, *others)]
    return Story(s, one["reason"], running, sheets, acting=(one["id"],))


def right_one_missing(rng: Random) -> Story:
    """E2: a stale sheet, and the one that runs was not supplied."""
    s = warm(rng)
    running, (one,) = base_of(s)
    ladder = ladder_of(running)
    stale = with_correction(running, one["id"], ladder[2], **weakened(rng, one))
    sheets = [(file_of(stale["revision"]), stale)]
    if rng.random() < 0.3:
        other = with_spark(stale, ladder[3], map=changed(rng, s.the_map, busiest(s), 3.0, 1))
        sheets.append((file_of(other["revision"]), other))
    return Story(s, one["reason"], running, sheets, hidden=(one["id"],), acting=(one["id"],),
                 other_drive=profiles.mixed(rng, s.vehicle))  # fmt: skip


def other_map(rng: Random) -> Story:
    """F: the running map differs in one region; from the file alone, beside a second, or logged."""
    s = set_up(rng)
    how = str(rng.choice(["map from file", "two files", "scheduled logged"]))
    idle = [make.idle(s.bench)] if rng.random() < 0.3 else []
    first = sheet(s, [*filler(s, set(), 3), *idle], "D")
    by = float(rng.choice([-4.0, -3.0, -2.5, 2.5, 3.5]))
    moved = changed(rng, s.the_map, busiest(s), by, int(rng.integers(0, 2)))
    running = with_spark(first, "C", map=moved)
    sheets = [(file_of("D"), first)]
    if how == "two files":
        sheets.append((file_of("C"), running))
    story = Story(s, how, running, sheets, acting=("other-map",))
    if how != "scheduled logged":
        story.absent = ("scheduled advance",)
    s.spark_step = min(s.spark_step, 0.5)
    return story


def busiest(s: Setting) -> tuple[float, float]:
    """An operating point under power at which the first drive spent time, in axis units."""
    axes = s.the_map["axes"]
    rows = np.flatnonzero(s.bench.driving & (s.bench.column("throttle position") > 25.0))
    if rows.size < 200:
        raise UnfitError("hardly driven")
    row = int(rows[int(s.rng.integers(rows.size))])
    at = [
        in_axis_unit(a, SIGNALS[a["signal"]].unit, float(s.bench.column(a["signal"])[row]))
        for a in axes
    ]
    return at[0], at[1]
