"""Causes in words: one plain sentence each."""

from typing import TypeGuard

from tuneledger.explain.leftover.model import Extra
from tuneledger.explain.told import Told
from tuneledger.wording import (
    count,
    degree_span,
    degrees,
    listing,
    seconds,
    sentence,
)

# Where the engine was, as a sentence about a stretch ends.
REGIME_PLACES = {
    "cranking": "while cranking",
    "after start": "just after the start",
    "idle": "at idle",
    "overrun": "on the overrun",
    "shift": "while shifting",
    "launch": "at the launch",
    "limiter": "at the rev limiter",
    "cruise": "in cruise",
    "load": "under load",
}
ENTRY_NAMES = {
    "limit": "the limits of the advance",
    "other-map": "another main map",
    "rate-limit": "the limit on how fast delivered moves",
}

# What goes both ways is told as a range, unless one way is so little beside the other.
_FRINGE_DEG, _FRINGE = 0.3, 0.1


def cause(told: Told) -> str:
    """The cause as one sentence."""
    amount = _amount(told)
    if told.kind == "unknown":
        where = f"in {told.stretches} stretches " if told.stretches > 1 else ""
        if told.moments:
            return sentence(
                f"nothing supplied accounts for {degrees(told.degrees)}, always as much, for "
                f"{seconds(told.seconds)} {where}{told.name}: it seems to follow something "
                "that is not logged"
            )
        return sentence(
            f"nothing supplied accounts for {amount} for {seconds(told.seconds)} {where}{told.name}"
        )
    if told.still:
        return sentence(
            f"{told.name}: its channel {told.still} may be stuck or not be what it is named, or "
            "a fixed advance was left on after a timing-light check"
        )
    if told.rate:
        return sentence(f"{told.name}; on its way it stood {_behind(told)}")
    if told.missing:
        return sentence(
            f"{told.name} may have {_may_have(told)} for {seconds(told.seconds)}, but cannot be "
            f"computed: {told.lacking or f'the log does not carry {listing(told.missing)}'}"
            f"{_as_well(told)}"
        )
    if told.lacking:
        return sentence(
            f"{told.name} {_moved(told)} for {seconds(told.seconds)}, as what was said before and "
            f"after gives it: {told.lacking}"
        )
    if told.open_at:
        return sentence(
            f"{told.name} may have {_may_have(told)} for {seconds(told.seconds)}, but revision "
            f"{told.revision} leaves its number open at {told.open_at}{_shows(told)}"
        )
    text = f"{told.name} {_moved(told)} for {seconds(told.seconds)}{_origin(told)}"
    if told.rule:
        text += f": {told.rule}"
    if told.stands is not None:
        at = degrees(told.stands, signed=told.stands < 0)
        text += f"; delivered stands at {at} then, as a fixed advance would"
    if told.objection:
        text += f"; not ordinary: {told.objection.why}"
    if told.expected:
        text += f"; expected: {told.expected}"
    return sentence(text)


def other_map(told: Told, cells: int) -> str:
    """Another map in the car than in the first sheet, as the scheduled channel shows it."""
    more = "above" if told.degrees > 0 else "below"
    fitting = listing([f"{name}'s" for name in (told.revision, *told.alike)], "or")
    whose = f"; revision {fitting} map fits" if told.revision else ""
    load = (
        f"; delivered is up to {degrees(told.above_map, signed=False)} above that map under load"
        if told.above_map
        else ""
    )
    return sentence(
        f"scheduled stands {_amount(told)} {more} revision {told.supplied}'s map for "
        f"{seconds(told.seconds)}, in {count(cells, 'cell')} of it{whose}{load}"
    )


def silent(told: Told) -> str:
    """A correction that the sheet posts here and the ECU did not."""
    verb = "take" if told.degrees < 0 else "add"
    return sentence(
        f"{told.name} should {verb} {_amount(told)} here for {seconds(told.seconds)}, as revision "
        f"{told.revision} has it, but the ECU did not"
    )


def extra_name(extra: Extra) -> str:
    """What to call something that no sheet names."""
    if extra.name:
        return extra.name
    if extra.kind == "other map":
        return f"another main map, which differs in {count(len(extra.cells), 'cell')},"
    if extra.channel:
        return f"a correction that the channel {extra.channel} carries"
    if extra.expected:
        return "the idle governor"
    return "a rule read out of the log"


def _amount(told: Told) -> str:
    """`4.0° (at most 5.5°)`: size only, the verb carries the sign; the peak where it differs."""
    if told.kind == "unknown" and both_ways(told.span):
        return degree_span(*told.span)
    mean = degrees(abs(told.degrees), signed=False)
    if abs(abs(told.peak) - abs(told.degrees)) < max(0.3, 0.15 * abs(told.degrees)):
        return mean if told.kind != "unknown" else degrees(told.degrees)
    if told.kind == "unknown":
        return f"{degrees(told.degrees)} (at most {degrees(told.peak)})"
    return f"{mean} (at most {degrees(abs(told.peak), signed=False)})"


def _moved(told: Told) -> str:
    """`took 4.0°`; what goes both ways has no mean worth telling: `moved it by −6.0° to +5.0°`."""
    if both_ways(told.span):
        return f"moved the advance by {degree_span(*told.span)}"
    return f"{'took' if told.degrees < 0 else 'added'} {_amount(told)}"


def _behind(told: Told) -> str:
    """How far delivered was from what was asked for on its way there, and for how long."""
    low, high = told.span or (0.0, 0.0)
    ways = ((high, "above"), (-low, "below"))
    sides = [f"up to {degrees(most, signed=False)} {side}" for most, side in ways if most > 0.0]
    return f"{listing(sides)} what was asked for, for {seconds(told.seconds)} in all"


def _may_have(told: Told) -> str:
    """`taken 4.0°`, of a suspicion; what goes both ways by its range."""
    if both_ways(told.span):
        return f"moved the advance by {degree_span(*told.span)}"
    return f"{'taken' if told.degrees < 0 else 'added'} {_amount(told)}"


def _as_well(told: Told) -> str:
    """What the log cannot tell it from: to name one of several alone would accuse it."""
    return f"; {listing(told.rivals, 'or')} may have done it as well" if told.rivals else ""


def _shows(told: Told) -> str:
    """What the log shows in the open cells, at least and at most."""
    return f"; this log shows {degree_span(*told.shows)} there" if told.shows else ""


def both_ways(span: tuple[float, float] | None) -> TypeGuard[tuple[float, float]]:
    """Whether something takes and adds, and the smaller of the two is no mere fringe of the larger.

    span: the least and the most that it posts, in degrees
    """
    if span is None or span[0] >= 0 or span[1] <= 0:
        return False
    return min(-span[0], span[1]) >= max(_FRINGE_DEG, _FRINGE * max(-span[0], span[1]))


def _origin(told: Told) -> str:
    if told.kind == "other revision" and told.name == ENTRY_NAMES["other-map"]:
        return f", as revision {told.whose} has it in place of {told.supplied}'s"
    if told.kind == "other revision" and told.otherwise:
        has = "leaves it open in part" if told.left_open else "has it otherwise"
        return f", as revision {told.whose} has it; {told.supplied} {has}"
    if told.kind == "other revision" and told.revision:
        return f", as revision {told.whose} has it and {told.supplied} does not"
    if told.rewritten:
        return f", but not with the numbers that revision {told.supplied} has"
    if told.switched_off:
        return f", although revision {told.revision} has it switched off"
    return ""
