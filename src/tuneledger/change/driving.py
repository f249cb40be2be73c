"""How to drive to show that a change took hold, as mildly as shows it."""

from collections.abc import Iterator, Sequence

from tuneledger.calibrations.model import Correction, readings
from tuneledger.calibrations.paths import as_raw
from tuneledger.change.eased import GUARDING
from tuneledger.change.instructions import QUALIFIED
from tuneledger.change.lines import Line
from tuneledger.change.places import axis_words
from tuneledger.explain.experiments.purpose import hurts
from tuneledger.phrases import conditions
from tuneledger.wording import count, sentence

_MOST_PLACES = 4
_HURTING = frozenset({"launch", "traction", "nitrous"})
_NOT_FOR_THIS = (
    "Nobody brings that about for this alone: a drive on which it is meant to act shows it"
)


def drive(edits: Sequence[Line], touched: Sequence[Correction], raised: bool) -> Iterator[str]:
    """The steps of the next drive; what protects the engine is never brought about.

    touched: the corrections that the edits change; raised: the change may raise advance
    """
    if raised:
        yield (
            f"Advance is raised: drive {QUALIFIED}, with knock and exhaust temperature watched. "
            "At the first knock, or a hotter exhaust, lift, stop, go back to the last good sheet."
        )
    yield (
        "Begin with the lowest load at which it shows; light throttle tells as much of a switch or "
        "a temperature as full throttle. Let somebody else work the logger."
    )
    # Nobody drives an engine there to see whether it acts.
    guards = [one for one in touched if one.reason in GUARDING]
    if guards:
        yield _left_alone(guards)
    for correction in touched:
        if correction not in guards:
            yield sentence(_where_it_acts(correction))
    cells = [
        one.what.removeprefix("the main map at ")
        for one in edits
        if one.place.startswith("spark.map.values")
    ]
    if cells:
        yield _held(cells, raised)
    yield "Then hold the new log against this one: tuneledger prove --before … --after … SHEET"


def _left_alone(guards: Sequence[Correction]) -> str:
    """What nobody may bring about to see whether it acts."""
    named = "; ".join(_guard(one) for one in guards)
    if len(guards) == 1:
        return (
            f"{named} protects the engine: do not bring about what it acts on. Prove this edit by "
            "reading the ECU back; a drive on which it acts of itself shows the rest."
        )
    return (
        f"Do not bring about what these act on, since they protect the engine: {named}. Prove "
        "their edits by reading the ECU back; a drive on which they act of themselves shows the "
        "rest."
    )


def _guard(correction: Correction) -> str:
    axes = [f"it goes by {axis}" for axis in map(axis_words, correction.axes)]
    off = [] if correction.enabled else ["off"]
    told = "; ".join([correction.reason, *_conditions(correction), *axes, *off])
    return f"{correction.called} ({told})"


def _where_it_acts(correction: Correction) -> str:
    axes = [axis_words(axis) for axis in correction.axes]
    what = "acts" if correction.enabled else "is off and must stay silent"
    where = "; ".join([*_conditions(correction), *axes]) or "at any load"
    asks = f"{correction.called} {what}: {where}"
    return f"{asks}. {_NOT_FOR_THIS}" if _may_hurt(correction) else asks


def _may_hurt(correction: Correction) -> bool:
    """Whether it acts on a launch, the brake, nitrous or the like."""
    names = (reading.channel for reading in readings(correction))
    return correction.reason in _HURTING or any(hurts(name) for name in names if name)


def _conditions(correction: Correction) -> list[str]:
    return [conditions(as_raw(c) for c in correction.when)] if correction.when else []


def _held(cells: Sequence[str], raised: bool) -> str:
    left = len(cells) - _MOST_PLACES
    more = [count(left, "more cell")] if left > 0 else []
    places = "; ".join([*cells[:_MOST_PLACES], *more])
    slowly = " Come up to it in small steps, not at once." if raised else ""
    return f"Hold each for two seconds, under load on a dynamometer only: {places}.{slowly}"
