"""Kind J: the log itself is at fault, or does not hold what would be needed."""

from dataclasses import replace

import numpy as np

from tuneledger.car import corrections as make
from tuneledger.car import profiles
from tuneledger.car.cases.ordinary import file_of, revision, with_sheet
from tuneledger.car.cases.setting import Setting, set_up, weather
from tuneledger.car.cases.story import Cause, Story, sheet
from tuneledger.car.logger import Damage
from tuneledger.car.vehicle import VEHICLES

Random = np.random.Generator
RAGGED = ("Kept with care", "place = the hill", "", "1;2;3", "remark: wind from the west")


def log_at_fault(rng: Random) -> Story:
    """J: units mislabelled, a sign turned, dirt in the file, or something missing."""
    tellers = (dirt, dirt, slow_channels, wrong_label, sign_turned, no_delivered, no_scheduled,
               no_input, very_late, no_words)  # fmt: skip
    return tellers[int(rng.integers(len(tellers)))](rng)


def _warm(rng: Random) -> Setting:
    day = replace(weather(rng), soak_c=float(rng.uniform(15, 30)))
    return set_up(rng, profiles.HARD, day)


def dirt(rng: Random) -> Story:
    """Preamble, gaps, dropped rows, missing cells, sparse units."""
    s = _warm(rng)
    lines = tuple(RAGGED[i].replace(";", s.dress.delimiter)
                  for i in rng.integers(0, len(RAGGED), int(rng.integers(2, 7))))  # fmt: skip
    s.dress = replace(
        s.dress, preamble=lines, missing=str(rng.choice(["-", "---", "NaN", "n/a", ""]))
    )
    story = with_sheet(s, [make.wet(s.bench)], "dirt")
    length = float(s.bench.base.times[-1])
    starts = rng.uniform(0.1 * length, 0.8 * length, int(rng.integers(1, 3)))
    gaps = tuple((float(a), float(a) + float(rng.uniform(0.3, 1.5))) for a in starts)
    story.damage = Damage(gaps=gaps, rows=float(rng.choice([0.0, 0.01, 0.03])),
                          cells=float(rng.choice([0.0, 0.002, 0.01])))  # fmt: skip
    return story


def slow_channels(rng: Random) -> Story:
    """Slow inputs, held or empty in between; a switch drawn out between samples; slow delivered."""
    s = _warm(rng)
    s.dress = replace(
        s.dress, rate_hz=int(rng.choice([50, 100, 200])), missing=str(rng.choice(["", "-"]))
    )
    story = with_sheet(s, [make.air(s.bench), make.wet(s.bench)], "slow channels")
    every = max(2, s.dress.rate_hz // 10)
    story.slow = {"intake air temperature": (every, str(rng.choice(["hold", "blank"])))}
    if rng.random() < 0.5:
        story.slow["wet"] = (max(2, s.dress.rate_hz // 20), "line")
    if rng.random() < 0.5:
        story.slow["delivered advance"] = (int(rng.choice([2, 4])), "blank")
    return story


def wrong_label(rng: Random) -> Story:
    """A channel's numbers are in another unit than its label says."""
    s = _warm(rng)
    key, really, says = _LABELS[int(rng.integers(len(_LABELS)))]
    maker = make.air if key == "intake air temperature" else make.wet
    if key == "manifold absolute pressure":
        s.the_map = _pressure_map(s)
    story = with_sheet(s, [maker(s.bench)], f"{key} in {really}, labelled {says}")
    s.dress = replace(s.dress, units_in=str(rng.choice(["row", "(", "["])))
    story.relabel = {key: (really, says)}
    story.more = [_label_cause("unit", s.names[key])]
    return story


_LABELS = (
    ("intake air temperature", "degF", "degC"),
    ("manifold absolute pressure", "psi", "kPa"),
    ("throttle position", "1", "%"),
)


def _pressure_map(s: Setting) -> dict[str, object]:
    from tuneledger.car.maps import random_map

    return random_map(s.rng, s.vehicle, "pressure")


def sign_turned(rng: Random) -> Story:
    """Delivered advance is written as a negative number, or both are."""
    s = _warm(rng)
    story = with_sheet(s, [make.wet(s.bench)], "sign turned")
    turned = (
        ("delivered advance",) if rng.random() < 0.6 else ("delivered advance", "scheduled advance")
    )
    story.damage = Damage(turned=turned)
    story.more = [_label_cause("sign", s.names[key]) for key in turned]
    return story


def _label_cause(kind: str, channel: str) -> Cause:
    return {"correction": None, "revision": None, "channel": channel, "kind": kind,
            "accept_kinds": [kind], "degrees": 0.0, "seconds": 0.0, "expected": False,
            "raises": False, "idle": False}  # fmt: skip


def no_delivered(rng: Random) -> Story:
    """A log that lacks delivered advance: nothing can be told, and it is asked for."""
    s = _warm(rng)
    story = with_sheet(
        s, [make.wet(s.bench)], "no delivered advance", absent=("delivered advance",)
    )
    name = s.names["delivered advance"]
    story.needs = [{"what": name, "names": ["delivered advance", name]}]
    story.verdicts = ["cannot tell"]
    return story


def no_scheduled(rng: Random) -> Story:
    """Neither scheduled advance nor a sheet."""
    s = _warm(rng)
    story = with_sheet(s, [make.wet(s.bench)], "no scheduled advance, no sheet", sheets=[],
                       absent=("scheduled advance",))  # fmt: skip
    name = s.names["scheduled advance"]
    story.needs = [{"what": name, "names": ["scheduled advance", name, "sheet", "calibration"]}]
    story.verdicts = ["cannot tell"]
    return story


def no_input(rng: Random) -> Story:
    """The correction that alone could explain it reads a channel that the log does not carry."""
    key, maker = (("oil pressure", make.oil_guard), ("wet", make.wet),
                  ("oil temperature", make.oil_heat))[int(rng.integers(3))]  # fmt: skip
    weak = [replace(v, oil_pump=0.8) for v in VEHICLES]
    s = set_up(rng, profiles.HARD, vehicles=weak, starve=0.35)
    one = maker(s.bench)
    story = with_sheet(s, [one], f"{key} not logged", absent=(key,))
    story.needs = [{"what": key, "names": [key, s.names[key]]}]
    story.verdicts = ["cannot tell"]
    story.best_accepted = [story.sheets[0][1]["revision"], None]
    return story


def no_words(rng: Random) -> Story:
    """Names that mean nothing at all; units, the map and the sheet's own channel have to do."""
    s = set_up(rng, vocabulary="nonsense")
    one = make.pit(s.bench)
    running = sheet(s, [one], revision(rng))
    sheets = [(file_of(running["revision"]), running)]
    return Story(s, "names that mean nothing", running, sheets, acting=(one["id"],))


def very_late(rng: Random) -> Story:
    """Delivered advance is logged several samples late, and a correction acts as well."""
    s = _warm(rng)
    s.dress = replace(s.dress, rate_hz=int(rng.choice([50, 100])))
    return with_sheet(
        s, [make.pit(s.bench)], "delivered very late", lag=round(float(rng.uniform(2.0, 6.0)), 2)
    )
