"""Kinds I and K: several causes at once, and the odd ones out."""

from typing import Any

import numpy as np

from tuneledger.car import corrections as make
from tuneledger.car import profiles
from tuneledger.car.cases.inturn import changed_on_the_way
from tuneledger.car.cases.ordinary import file_of, filler, revision, shuffled, with_sheet
from tuneledger.car.cases.setting import Setting, set_up
from tuneledger.car.cases.stale import base_of, ladder_of, warm, weakened
from tuneledger.car.cases.story import Story, sheet, with_correction

Random = np.random.Generator


def at_once(rng: Random) -> Story:
    """I: two or three causes on one drive, from one sheet, or one of them stale or hidden."""
    how = str(rng.choice(["one sheet", "one sheet", "stale and current", "hidden and listed"]))
    s = warm(rng)
    if how == "one sheet":
        featured = [m(s.bench) for m in _pick(rng, (make.air, make.wet, make.pit, make.boost,
                                                    make.armed, make.oil_heat), 3)]  # fmt: skip
        if rng.random() < 0.4:
            featured[-1] = make.idle(s.bench)
        return with_sheet(s, featured, " and ".join(c["reason"] for c in featured))
    running, featured = base_of(s, 2)
    one, two = featured
    ladder = ladder_of(running)
    acting = (one["id"], two["id"])
    if how == "stale and current":
        stale = with_correction(running, one["id"], ladder[2], "Changed", **weakened(rng, one))
        sheets = [(file_of(x["revision"]), x) for x in (stale, running)]
        return Story(s, how, running, sheets, acting=acting)
    known = with_correction(running, one["id"], ladder[2], drop=True)
    story = Story(s, how, running, [(file_of(ladder[2]), known)], acting=acting)
    story.hidden = (one["id"],)
    story.other_drive = profiles.mixed(rng, s.vehicle)
    return story


def _pick(rng: Random, makers: tuple[Any, ...], most: int) -> list[Any]:
    return [
        makers[i] for i in rng.permutation(len(makers))[: int(rng.integers(2, most + 1))].tolist()
    ]


def odd(rng: Random) -> Story:
    """K: a fixed advance left on, a revision that changed or cannot be told, a correction that
    acts though switched off, a partial sheet, two in one channel, one that raises."""
    tellers = (fixed_advance, changed_on_the_way, not_told_apart, acts_though_off, partial_sheet,
               two_in_one_channel, raises)  # fmt: skip
    return tellers[int(rng.integers(len(tellers)))](rng)


def fixed_advance(rng: Random) -> Story:
    """The fixed advance of a timing-light check was left on."""
    s = set_up(rng)
    fixed = make.named(
        s.bench, "secret", "other", effect="replace", amount=s.bench.number(5, 15, 1)
    )
    rest = filler(s, {fixed["id"]}, 3)
    running = sheet(s, [*rest, fixed], revision(rng))
    known = with_correction(running, fixed["id"], running["revision"], drop=True)
    sheets = [(file_of(known["revision"]), known)]
    story = Story(s, "fixed advance left on", running, sheets, acting=(fixed["id"],))
    story.accept = {fixed["id"]: ["replacement", "hidden rule", "unknown"]}
    story.verdicts = ["explained", "unexplained"]
    return story


def not_told_apart(rng: Random) -> Story:
    """Two revisions that differ only where the car did not drive."""
    s = set_up(rng)
    first = sheet(s, shuffled(rng, filler(s, set(), 3)), "C")
    off = make.out_of_reach(s.bench, "engine coolant temperature", "coolant", "coolant temperature")
    off["id"] = "coolant-x"
    second = sheet(s, [*first["spark"]["correction"], off], "D")
    second["spark"] = second["spark"] | {k: v for k, v in first["spark"].items() if k == "limits"}
    sheets = [(file_of(x["revision"]), x) for x in (second, first)]
    return Story(s, "revisions not to be told apart", first, sheets, quiet=True,
                 best_accepted=["C", "D", None])  # fmt: skip


def acts_though_off(rng: Random) -> Story:
    """The sheet has it switched off, and the ECU carries it out all the same."""
    s = warm(rng)
    running, (one,) = base_of(s)
    known = with_correction(running, one["id"], running["revision"], enabled=False)
    sheets = [(file_of(known["revision"]), known)]
    story = Story(s, "acts though switched off", running, sheets, acting=(one["id"],))
    story.hidden = (one["id"],)
    story.accept = {one["id"]: ["hidden rule", "correction"]}
    story.other_drive = profiles.mixed(rng, s.vehicle)
    return story


def partial_sheet(rng: Random) -> Story:
    """A sheet that says of itself that it does not list everything; what acts is not in it."""
    s = warm(rng)
    running, (one,) = base_of(s)
    known = with_correction(running, one["id"], running["revision"], drop=True)
    known["spark"] = known["spark"] | {"complete": False}
    sheets = [(file_of(known["revision"]), known)]
    story = Story(s, "partial sheet", running, sheets, hidden=(one["id"],), acting=(one["id"],))
    story.best_accepted = [known["revision"], None]
    story.other_drive = profiles.mixed(rng, s.vehicle)
    return story


def two_in_one_channel(rng: Random) -> Story:
    """A logged contribution that is the sum of two corrections."""
    s = warm(rng)
    featured = [make.air(s.bench), make.wet(s.bench)]
    story = with_sheet(s, featured, "two in one channel")
    ids = tuple(c["id"] for c in featured)
    story.shares = {"share b": (ids, float(rng.choice([-1.0, 1.0])))}
    return story


def raises(rng: Random) -> Story:
    """Advance is added under load, wanted or not: it comes first of all."""
    s: Setting = set_up(rng, day=None)
    maker = [make.push, _hot_adds][int(rng.integers(2))]
    one = maker(s.bench)
    if rng.random() < 0.4:
        one["expected"] = "asked for by the driver"
    featured = [one] + ([make.pit(s.bench)] if rng.random() < 0.5 else [])
    return with_sheet(s, featured, "raises under load")


def _hot_adds(b: Any) -> make.Correction:
    """A table whose sign was turned: hot air adds."""
    table = make.air(b)
    return table | {"values": [-x + 0.0 for x in table["values"]]}
