"""Causes in words: one plain sentence each, and what to do or to log next."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, TypeGuard

from tuneledger.calibrations.model import AnyOf, Comparison, CorrectionActive, Table
from tuneledger.explain.expected import Objection
from tuneledger.explain.leftover.model import Extra
from tuneledger.explain.model import Cell, Kind, Rule
from tuneledger.phrases import acting
from tuneledger.wording import (
    count,
    degree_span,
    degrees,
    listing,
    quantity,
    seconds,
    sentence,
    share,
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
_READ_BACK = "Read the ECU back before loading anything; save what is in the car first."
_MORE_THAN_THE_SHEET = (
    "No load until it is clear that the car's map is meant: it asks for more than the sheet's. "
    "Read the ECU back; save what is in the car first."
)
# How a headline that begins with "Stop" ends.
NO_LOAD = "No load until it is understood."

ENTRY_NAMES = {"limit": "the limits of the advance", "other-map": "another main map"}

_CHANGE_IT = "If it is not wanted here, change it and prove the change on the next log."
_OF_REASON = {
    "rev limit": "It holds the engine speed: ask why it stands where it does before moving it."
}
FIND_IT = "Find where the calibration sets this; ask for the sheet that lists it."

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


# What goes both ways is told as a range, unless one way is so little beside the other.
_FRINGE_DEG, _FRINGE = 0.3, 0.1
_MOST_CELLS = 3


@dataclass(frozen=True, slots=True)
class Told:
    """All that a sentence about one cause needs.

    lacking: why what is missing is, where a channel is named so and is not fit
    still: the channel of a delivered advance that never moves, else empty
    """

    kind: Kind
    name: str
    degrees: float
    seconds: float
    peak: float
    span: tuple[float, float] | None = None
    objection: Objection | None = None
    revision: str | None = None
    supplied: str | None = None
    reason: str | None = None
    channel: str | None = None
    expected: str | None = None
    raises: bool = False
    load_told: bool = True
    switched_off: bool = False
    otherwise: bool = False
    left_open: bool = False
    rewritten: bool = False
    rule: str = ""
    missing: tuple[str, ...] = ()
    lacking: str = ""
    open_at: str = ""
    shows: tuple[float, float] | None = None
    changed: tuple[str, ...] = ()
    stretches: int = 1
    above_map: float = 0.0  # most that delivered stands above the supplied map under load, degrees
    still: str = ""


def cause(told: Told) -> str:
    """The cause as one sentence."""
    amount = _amount(told)
    if told.kind == "unknown":
        where = f"in {told.stretches} stretches " if told.stretches > 1 else ""
        return sentence(
            f"nothing supplied accounts for {amount} for {seconds(told.seconds)} {where}{told.name}"
        )
    if told.still:
        return sentence(
            f"{told.name}: its channel {told.still} may be stuck or not be what it is named, or "
            "a fixed advance was left on after a timing-light check"
        )
    if told.missing:
        return sentence(
            f"{told.name} may have {_may_have(told)} for {seconds(told.seconds)}, but cannot be "
            f"computed: {told.lacking or f'the log does not carry {listing(told.missing)}'}"
        )
    if told.open_at:
        return sentence(
            f"{told.name} may have {_may_have(told)} for {seconds(told.seconds)}, but revision "
            f"{told.revision} leaves its number open at {told.open_at}{_shows(told)}"
        )
    text = f"{told.name} {_moved(told)} for {seconds(told.seconds)}{_origin(told)}"
    if told.rule:
        text += f": {told.rule}"
    if told.objection:
        text += f"; not ordinary: {told.objection.why}"
    if told.expected:
        text += f"; expected: {told.expected}"
    return sentence(text)


def other_map(told: Told, cells: int) -> str:
    """Another map in the car than in the first sheet, as the scheduled channel shows it."""
    more = "above" if told.degrees > 0 else "below"
    whose = f"; revision {told.revision}'s map fits" if told.revision else ""
    load = (
        f"; delivered is up to {degrees(told.above_map, signed=False)} above that map under load"
        if told.above_map
        else ""
    )
    return sentence(
        f"scheduled stands {_amount(told)} {more} revision {told.supplied}'s map for "
        f"{seconds(told.seconds)}, in {count(cells, 'cell')} of it{whose}{load}"
    )


def next_step(told: Told) -> str:
    """What to do or to log next; never an advice to load, and never to take a guard away."""
    if told.still or told.raises:
        return _before_any_load(told)
    if told.missing or told.open_at:
        return _what_is_lacking(told)
    if told.kind == "unknown":
        if told.changed:
            return sentence(
                f"compare {listing(told.changed)}, which changed at its edges; read the ECU back"
            )
        return "Read the ECU back, or send the calibration that was loaded for this run."
    if told.kind in ("other revision", "other map") or told.switched_off or told.rewritten:
        return _MORE_THAN_THE_SHEET if told.above_map else _READ_BACK
    if told.reason in PROTECTING:
        return f"It protects the engine ({told.reason}): find out why it acted before any change."
    if told.expected:
        return "Nothing to do."
    if told.objection:
        return told.objection.do
    if told.kind == "replacement" and told.revision is None:
        return "A fixed advance is for a timing-light check: switch it off before driving on."
    if told.kind == "limit":
        return "Ask first why the limit is there; if it is right, bring the map within it."
    if told.channel and told.degrees < 0 and told.reason in (None, "other"):
        return f"Find out why {told.channel} took advance before giving any back."
    if told.kind == "hidden rule":
        return FIND_IT
    return _OF_REASON.get(told.reason or "", _CHANGE_IT)


def _before_any_load(told: Told) -> str:
    if told.still:
        return (
            "Check that channel first: whether it moves with the engine, and whether it is the "
            f"delivered advance; a fixed advance is to be switched off. {NO_LOAD}"
        )
    where = " under load" if told.load_told else ", and nothing in the log tells load there"
    return f"No load until this is understood: delivered stands above scheduled{where}."


def _what_is_lacking(told: Told) -> str:
    if told.missing:
        return sentence(f"log {listing(told.missing)} on the next run")
    return sentence(f"ask for its number at {told.open_at}, or read the ECU back")


def silent(told: Told) -> str:
    """A correction that the sheet posts here and the ECU did not."""
    verb = "take" if told.degrees < 0 else "add"
    return sentence(
        f"{told.name} should {verb} {_amount(told)} here for {seconds(told.seconds)}, as revision "
        f"{told.revision} has it, but the ECU did not"
    )


def silent_next(told: Told) -> str:
    """What to do about it: first of all where it should have protected."""
    if told.reason in PROTECTING:
        return f"A protection stayed silent ({told.reason}): read the ECU back before any load."
    return "Read the ECU back: it does not run this sheet."


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


def rule_in_words(rule: Rule, others: Sequence[Rule], units: Mapping[str, str]) -> str:
    """`it follows Inlet temp while Throttle is above 55 %`: what to look for in the car.

    others: rules that this log cannot tell from it, where it is not sure: what all of them have is
            said first, and the rest as perhaps
    units:  channel → unit, for thresholds
    """
    shared = [one for one in rule.when if all(_has(other, one) for other in others)]
    if rule.along is None and 0 < len(shared) < len(rule.when):
        rest = [one for one in rule.when if one not in shared]
        perhaps = acting(rest, units)
        return f"it acts {acting(shared, units)}, perhaps only {perhaps} (open as yet)"
    verb = f"follows {rule.along.channel}" if rule.along else "acts"
    when = acting(rule.when, units) or ("" if rule.along else "throughout")
    return f"it {verb} {when}".rstrip()


def _has(rule: Rule, condition: Mapping[str, Any]) -> bool:
    """Whether a rule has the same condition, its number apart."""
    bare = {"above", "below"}
    return any(
        one.keys() == condition.keys()
        and all(one[key] == condition[key] for key in one.keys() - bare)
        for one in rule.when
    )


def cells_at(table: Table, cells: Sequence[Cell]) -> str:
    """`60 °C`, `150 kPa, 5000 rpm`: points of a table's axes, those that matter most first."""
    most = sorted(cells, key=lambda cell: -abs(cell.difference_deg) * cell.seconds)[:_MOST_CELLS]
    told = [
        ", ".join(quantity(x, axis.unit) for x, axis in zip(cell.at, table.axes, strict=True))
        for cell in most
    ]
    if len(cells) > len(most):
        told.append(count(len(cells) - len(most), "more cell"))
    return listing(told)


def sum_comes_out(right: float) -> str:
    """How often nothing is left over where the cause acts."""
    if right >= 0.995:
        return "where it acts, the account balances in every sample"
    return f"where it acts, the account balances in {share(right)} of the samples"


def held_while(terms: Comparison | AnyOf | CorrectionActive) -> str:
    """The condition under which it acts, in words."""
    return f"acts {acting([terms.given])}"


def _amount(told: Told) -> str:
    """`4.0° (at most 5.5°)`: size only, the verb carries the sign; the peak where it differs."""
    if told.kind == "unknown" and _both_ways(told.span):
        return degree_span(*told.span)
    mean = degrees(abs(told.degrees), signed=False)
    if abs(abs(told.peak) - abs(told.degrees)) < max(0.3, 0.15 * abs(told.degrees)):
        return mean if told.kind != "unknown" else degrees(told.degrees)
    if told.kind == "unknown":
        return f"{degrees(told.degrees)} (at most {degrees(told.peak)})"
    return f"{mean} (at most {degrees(abs(told.peak), signed=False)})"


def _moved(told: Told) -> str:
    """`took 4.0°`; what goes both ways has no mean worth telling: `moved it by −6.0° to +5.0°`."""
    if _both_ways(told.span):
        return f"moved the advance by {degree_span(*told.span)}"
    return f"{'took' if told.degrees < 0 else 'added'} {_amount(told)}"


def _may_have(told: Told) -> str:
    """`taken 4.0°`, of a suspicion; what goes both ways by its range."""
    if _both_ways(told.span):
        return f"moved the advance by {degree_span(*told.span)}"
    return f"{'taken' if told.degrees < 0 else 'added'} {_amount(told)}"


def _shows(told: Told) -> str:
    """What the log shows in the open cells, at least and at most."""
    return f"; this log shows {degree_span(*told.shows)} there" if told.shows else ""


def _both_ways(span: tuple[float, float] | None) -> TypeGuard[tuple[float, float]]:
    """Whether it takes and adds, and the smaller of the two is no mere fringe of the larger."""
    if span is None or span[0] >= 0 or span[1] <= 0:
        return False
    return min(-span[0], span[1]) >= max(_FRINGE_DEG, _FRINGE * max(-span[0], span[1]))


def _origin(told: Told) -> str:
    if told.kind == "other revision" and told.name == ENTRY_NAMES["other-map"]:
        return f", as revision {told.revision} has it in place of {told.supplied}'s"
    if told.kind == "other revision" and told.otherwise:
        has = "leaves it open in part" if told.left_open else "has it otherwise"
        return f", as revision {told.revision} has it; {told.supplied} {has}"
    if told.kind == "other revision" and told.revision:
        return f", as revision {told.revision} has it and {told.supplied} does not"
    if told.rewritten:
        return f", but not with the numbers that revision {told.supplied} has"
    if told.switched_off:
        return f", although revision {told.revision} has it switched off"
    return ""
