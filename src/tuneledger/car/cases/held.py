"""Kind N: a highest, a lowest or a fixed advance that stands in no sheet, or at another number."""

from typing import Any

import numpy as np

from tuneledger.car import corrections as make
from tuneledger.car import profiles
from tuneledger.car.cases.hidden import WATCHED
from tuneledger.car.cases.ordinary import file_of, filler, revision, shuffled
from tuneledger.car.cases.setting import Setting, set_up
from tuneledger.car.cases.story import Story, sheet, with_correction, with_spark

Random = np.random.Generator
# What a sheet lists that has limits at all: beyond what any map asks for.
_WIDE = {"lowest": -12.0, "highest": 46.0}
_SWITCHES = ("wet", "pass", "arm", "pit")


def held(rng: Random) -> Story:
    """N: delivered stands at a number, always or under a condition, alone or beside another
    correction."""
    tellers = (_always, _always, _always, _then, _then)
    s = set_up(rng, (profiles.hill, profiles.mixed, profiles.mixed, profiles.town))
    return tellers[int(rng.integers(len(tellers)))](s)


def _always(s: Setting) -> Story:
    """A limit within the map; beside it, at times, a hidden correction or one of the sheet."""
    floor, values = s.rng.random() < 0.3, [v for row in s.the_map["values"] for v in row]
    if floor:
        name, number = "lowest", min(values) + s.bench.number(3, 9, 0.5)
    else:
        name, number = "highest", max(values) - s.bench.number(3, 9, 0.5)
    beside: list[dict[str, Any]] = []
    draw = s.rng.random()
    if draw < 0.25:
        when = [s.bench.on(str(s.rng.choice(_SWITCHES)), (0.35, 0.6))]
        beside = [make.named(s.bench, "secret", "other", amount=make.retard(s.bench), when=when)]
    elif draw < 0.5:
        beside = [make.air(s.bench)]
    names = {one["id"] for one in beside}
    parts = shuffled(s.rng, [*beside, *filler(s, set(names), 3)])
    running = sheet(s, parts, revision(s.rng), limits=_WIDE | {name: number})
    story = Story(s, name, running, acting=("limit", *sorted(names)))
    handed = with_spark(running, limits=_WIDE)
    if s.rng.random() < 0.5:
        del handed["spark"]["limits"]
    if draw < 0.25:
        story.hidden = tuple(names)
        story.variant += " and a switch"
        for one in names:
            handed = with_correction(handed, one, running["revision"], drop=True)
    elif names:
        story.variant += " and a table"
    return _handed(story, handed, always=bool(names) and draw >= 0.25)


def _then(s: Setting) -> Story:
    """A cap, a floor or a replacement while a switch is on or a threshold is passed."""
    effect = str(s.rng.choice(["at most", "at most", "at least", "replace", "replace"]))
    if s.rng.random() < 0.5:
        when = [s.bench.on(str(s.rng.choice(_SWITCHES)), (0.3, 0.6))]
    else:
        key = str(s.rng.choice(WATCHED))
        below = key in ("oil pressure", "fuel pressure", "module voltage")
        when = [make.beyond(s.bench, key, s.bench.number(0.3, 0.6), below)]
    low, high = {"at most": (8, 16), "at least": (26, 34), "replace": (4, 22)}[effect]
    number = s.bench.number(low, high, 0.5)
    rule = make.named(s.bench, "secret", "other", effect=effect, amount=number, when=when)
    running = sheet(
        s, shuffled(s.rng, [rule, *filler(s, {rule["id"]}, 3)]), revision(s.rng), limits=_WIDE
    )
    story = Story(s, f"{effect}, then", running, acting=(rule["id"],), hidden=(rule["id"],))
    story.accept = {rule["id"]: ["limit", "replacement"]}
    return _handed(story, with_correction(running, rule["id"], running["revision"], drop=True))


def _handed(story: Story, known: dict[str, Any], *, always: bool = False) -> Story:
    """With the sheet that lacks it, or with none at all.

    always: something else of the sheet acts, which only it can name
    """
    if always or story.setting.rng.random() < 0.6:
        story.sheets = [(file_of(known["revision"]), known)]
        story.variant += ", with a sheet"
    return story
