"""Kind G: limits, replacements, caps, blends, ramps, latches, timers."""

from dataclasses import replace

import numpy as np

from tuneledger.car import profiles
from tuneledger.car.cases.ordinary import file_of, filler, revision, shuffled, with_sheet
from tuneledger.car.cases.setting import Setting, set_up, weather
from tuneledger.car.cases.story import Story, sheet
from tuneledger.car.remembering import MAKERS
from tuneledger.car.vehicle import VEHICLES

Random = np.random.Generator


def limit_or_memory(rng: Random) -> Story:
    """G: one of the effects and memories of CONTRACT section 2."""
    what = str(rng.choice(["limit", *MAKERS]))
    if what == "blend":
        s = set_up(rng, day=replace(weather(rng), ethanol=float(rng.uniform(25, 80))))
    elif what == "after start":
        s = set_up(rng, (profiles.cold_start,))
    elif what == "ratio":
        s = set_up(rng, vehicles=[v for v in VEHICLES if v.turbo])
    else:
        s = set_up(rng)
    return _limit(s) if what == "limit" else with_sheet(s, MAKERS[what](s.bench), what)


def _limit(s: Setting) -> Story:
    """The highest advance that may be delivered lies within the map."""
    running = sheet(s, shuffled(s.rng, filler(s, set())), revision(s.rng))
    highest = max(v for row in s.the_map["values"] for v in row) - s.bench.number(3, 7, 0.5)
    running["spark"]["limits"] = {"lowest": -10.0, "highest": highest}
    sheets = [(file_of(running["revision"]), running)]
    return Story(s, "limit", running, sheets, acting=("limit",))
