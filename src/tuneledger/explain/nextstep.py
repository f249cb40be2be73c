"""What to do or to log next about a cause."""

from collections.abc import Sequence

from tuneledger.explain.model import Cause
from tuneledger.explain.told import Told
from tuneledger.wording import degrees, listing, seconds, sentence

_READ_BACK = "Read the ECU back before loading anything; save what is in the car first."
_MORE_THAN_THE_SHEET = (
    "No load until it is clear that the car's map is meant: it asks for more than the sheet's. "
    "Read the ECU back; save what is in the car first."
)
# How a headline that begins with "Stop" ends.
NO_LOAD = "No load until it is understood."
# The same, where all of it is: what a sheet lists, computed or logged.
IF_MEANT = "No load until it is clear that this is meant."

_CHANGE_IT = "If it is not wanted here, change it and prove the change on the next log."
_OF_REASON = {
    "rev limit": "It holds the engine speed: ask why it stands where it does before moving it."
}
_OF_LIMIT = "Ask first why the limit is there; if it is right, bring the map within it."
_OF_RATE = "Ask whether it is meant: what is asked for only a moment is not reached."
_FIXED = "A fixed advance is for a timing-light check: switch it off before driving on."
_FIXED_THEN = (
    "A fixed advance is for a timing-light check, a launch or a fault: find what sets it then, and "
    "switch it off if it is not meant."
)
FOR_THE_SHEET = "ask for the sheet that lists it"
FIND_IT = f"Find where the calibration sets this; {FOR_THE_SHEET}."

# Reasons that protect an engine: never advised away, the next step asks why they acted.
PROTECTING = frozenset(
    {
        "knock",
        "sensor guard",
        "coolant temperature",
        "air temperature",
        "oil temperature",
        "boost",
        "nitrous",
        "fuel",
    }
)

# What is taken since somebody put it there: the tank and the bottle say why it acted.
FUEL = "fuel"
_CALLED_FOR = {
    FUEL: "It fits the advance to the fuel: make sure which one was in the tank before any change.",
    "nitrous": "It protects the engine while nitrous flows: make sure that it was meant to flow "
    "before any change.",
}

# As many moments as a sentence bears.
_MOST_MOMENTS = 4

# Signals that guards of an engine watch, and the side on which it needs them: common practice, no
# source.
GUARDED = {
    "knock level": "above",
    "engine coolant temperature": "above",
    "intake air temperature": "above",
    "oil temperature": "above",
    "fuel temperature": "above",
    "measured lambda": "above",
    "oil pressure": "below",
    "fuel pressure": "below",
}


def all_understood(causes: Sequence[Cause]) -> bool:
    """Whether all that raises delivered under load is what a sheet lists, and sure."""
    raising = [cause for cause in causes if cause.raises_under_load]
    return bool(raising) and all(cause.understood for cause in raising)


def next_step(told: Told) -> str:
    """What to do or to log next; never an advice to load, and never to take a guard away."""
    step = _step(told)
    return f"{step} {_by_timing_light(told)}" if told.throughout else step


def _by_timing_light(told: Told) -> str:
    """How a check at the crank tells an amount that is the same all through from a number that is
    only reported so."""
    return (
        "The same amount all through may be a reference angle: take timing-light readings without "
        "load, and give them to `tuneledger light` with delivered as commanded; an offset near 0° "
        f"says that the engine really gets it, one near {degrees(-told.degrees)} that only the "
        "reported number is shifted."
    )


def _step(told: Told) -> str:
    if told.still or told.raises:
        return _before_any_load(told)
    if told.missing or told.open_at:
        return _what_is_lacking(told)
    if told.kind == "unknown":
        return _where_nothing_accounts(told)
    if told.kind in ("other revision", "other map") or told.switched_off or told.rewritten:
        return _MORE_THAN_THE_SHEET if told.above_map else _READ_BACK
    if told.reason in PROTECTING and told.degrees < 0:
        return _CALLED_FOR.get(told.reason) or (
            f"It protects the engine ({told.reason}): find out why it acted before any change."
        )
    if told.expected:
        return "Nothing to do."
    if told.objection:
        return told.objection.do
    if told.kind == "replacement" and told.revision is None:
        return _in_place_of_the_map(told)
    if told.kind == "limit" and not told.guarding:
        return _OF_RATE if told.rate else _OF_LIMIT
    if told.channel and told.degrees < 0 and told.reason in (None, "other"):
        return f"Find out why {told.channel} took advance before giving any back."
    if told.guarding or told.kind == "hidden rule":
        return _of_a_rule(told)
    return _OF_REASON.get(told.reason or "", _CHANGE_IT)


def _of_a_rule(told: Told) -> str:
    if told.listed:
        return f"{told.listed} {_READ_BACK}"
    if told.guarding:
        return (
            f"It may protect the engine, since it follows {listing(told.guarding)}: find out why "
            f"it acted before any change; {FOR_THE_SHEET}."
        )
    return FIND_IT


def _in_place_of_the_map(told: Told) -> str:
    if told.table:
        return "Find what switches to another map then, and ask for the sheet that holds it."
    return _FIXED_THEN if told.rule else _FIXED


def _before_any_load(told: Told) -> str:
    if told.still:
        return (
            "Check that channel first: whether it moves with the engine, and whether it is the "
            f"delivered advance; a fixed advance is to be switched off. {NO_LOAD}"
        )
    where = " under load" if told.load_told else ", and nothing in the log tells load there"
    until = "it is clear that this is meant" if told.understood else "this is understood"
    return f"No load until {until}: delivered stands above scheduled{where}."


def _what_is_lacking(told: Told) -> str:
    if told.missing:
        return sentence(f"log {listing(told.missing)} on the next run")
    return sentence(f"ask for its number at {told.open_at}, or read the ECU back")


def _where_nothing_accounts(told: Told) -> str:
    if told.moments:
        shown = [seconds(at) for at in told.moments[:_MOST_MOMENTS]]
        left = len(told.moments) - len(shown)
        when = listing([*shown, f"{left} more moments"] if left else shown)
        return f"Find out what came or went at {when}, and log it; read the ECU back."
    if told.changed:
        return sentence(
            f"compare {listing(told.changed)}, which changed at its edges; read the ECU back"
        )
    return "Read the ECU back, or send the calibration that was loaded for this run."


def silent_next(told: Told) -> str:
    """What to do about it: first of all where it should have protected."""
    if told.reason in PROTECTING:
        if told.reason == FUEL:
            return "What the fuel calls for was not taken: read the ECU back before any load."
        return f"A protection stayed silent ({told.reason}): read the ECU back before any load."
    return "Read the ECU back: it does not run this sheet."
