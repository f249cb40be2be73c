"""Causes, episodes and what follows from them in words, the same on terminal and page."""

from tuneledger.calibrations.model import Axis
from tuneledger.explain.account import OTHER_MAP
from tuneledger.explain.model import RATE, SURE, Cause, Rule
from tuneledger.ledger.model import Episode
from tuneledger.phrases import acting
from tuneledger.statement.curvewords import curve_in_words
from tuneledger.statement.facts import called, fold
from tuneledger.statement.model import Statement
from tuneledger.wording import (
    degree_range,
    degree_span,
    degrees,
    listing,
    quantity,
    sentence,
    unit_words,
)

NO_EVIDENCE = "none yet"

_UNPOSTED = {
    "other map": "another map",
    "log timing": "timing of the log",
    "sign": "sign of a channel",
    "unit": "unit of a channel",
    "limit": "limit",
    "unknown": "not explained",
}
_RATE_LIMIT = "limit on how fast it moves"
# What a rule that holds the advance says of its number.
_HELD = {"at most": "no more than", "at least": "no less than", "replace": "held at"}


def named(cause: Cause, statement: Statement) -> str:
    """What a cause is called in a list: its correction and whose that is, else its kind."""
    if cause.kind == "hidden rule" and cause.expected:
        return "idle governor, in no file"  # the one rule that a log alone shows to be ordinary
    if cause.kind == "hidden rule" and any(
        sheet.calibration.spark.find(cause.correction or "") for sheet in statement.sheets
    ):
        return f"{cause.correction}, not as in any file"
    if cause.kind == "hidden rule":
        return f"{cause.correction or cause.entry or 'a rule'}, in no file"
    if cause.correction is None:
        kind = "other map" if cause.entry == OTHER_MAP else cause.kind
        name = _RATE_LIMIT if cause.entry == RATE else _UNPOSTED.get(kind, kind)
        if cause.kind == "other revision" and cause.revision:
            name += f", revision {_whose(cause, statement)}"
        if cause.rule is not None and cause.rule.hold is not None:
            return f"{name}, in no file"
        return f"{name}, {cause.channel}" if cause.channel else name
    name = cause.correction
    if cause.revision:
        name += f", revision {_whose(cause, statement)}"
    return name


def limit_told(cause: Cause) -> str:
    """`delivered moves by at most 30°/s`: of a limit on how fast it moves, what it is."""
    says = cause.says.partition(";")[0]
    return says[:1].lower() + says[1:]


def _whose(cause: Cause, statement: Statement) -> str:
    """The revision that has it so, or those between which the logs cannot decide."""
    assert cause.revision is not None
    return listing([called(statement, cause.revision, cause.file), *cause.alike], "or")


def regimes(episode: Episode) -> str:
    """What the engine was doing in an episode: `load`, or `load 55 %, overrun 30 %, shift 15 %`."""
    parts = episode.by_regime
    if len(parts) == 1:
        return parts[0].regime
    return ", ".join(f"{part.regime} {round(part.share * 100)} %" for part in parts)


def amount(cause: Cause, *, narrow: bool = False) -> str:
    """`−4.0°`, the mean; of what goes both ways, where a mean says nothing, from least to most."""
    if cause.span is None:
        return degrees(cause.degrees)
    return (degree_range if narrow else degree_span)(*cause.span)


def next_step(cause: Cause) -> tuple[str, str]:
    """What stands before the next step, and the step: a log to be driven says so itself."""
    label, colon, rest = cause.next_step.partition(": ")
    if colon and label == "Next log":
        return label, rest
    return "Next", sentence(cause.next_step)


def evidence(cause: Cause, statement: Statement) -> str:
    """`logged`, `computed` or `inferred`, as the entries that the cause posts have it."""
    if cause.kind == "correction" and cause.entry is None:  # suspected, or come out all the same
        return "inferred" if cause.certainty >= SURE else NO_EVIDENCE
    posted = cause.entry or cause.correction
    found = {
        str(entry.evidence)
        for index in cause.episodes
        for entry in statement.episodes[index].entries
        if entry.correction == posted
    }
    for word in ("logged", "computed", "inferred"):
        if word in found:
            return word
    if cause.kind == "other map":
        return "computed" if cause.file is not None else "inferred"
    return (
        "inferred" if cause.kind in ("hidden rule", "log timing", "sign", "unit") else NO_EVIDENCE
    )


def units(statement: Statement) -> dict[str, str]:
    """Channel name → unit as the logs have it."""
    return {c.name: c.unit for a in reversed(statement.logs) for c in a.log.channels}


def rule(found: Rule, units: dict[str, str]) -> str:
    """A rule in one phrase: `−4.0° while Wet switch is 1 and Plate is above 55 %`."""
    when = acting(found.when, units)
    if found.hold is not None:
        what = f"{_HELD[found.hold.effect]} {degrees(found.hold.degrees, signed=False)}"
    elif found.along is not None:
        what = curve_in_words(found.along, units.get(found.along.channel, ""))
    else:
        what = degrees(found.amount_deg)
        when = when or "throughout"
    return f"{what} {when}".rstrip()


def cells(cause: Cause, statement: Statement, most: int = 3) -> str:
    """The cells that differ or are open, widest first: `150 kPa, 5000 rpm: −2.0°; …`."""
    axes = _axes(cause, statement)
    spelled = [unit_words(axis.unit) for axis in axes]
    ordered = sorted(cause.cells, key=lambda c: -abs(c.difference_deg) * c.seconds)
    texts = []
    for cell in ordered:
        names = spelled if len(spelled) == len(cell.at) else [""] * len(cell.at)
        at = ", ".join(quantity(x, unit) for x, unit in zip(cell.at, names, strict=True))
        texts.append(f"{at}: {degrees(cell.difference_deg)}")
    return fold(texts, most, "; ")


def _axes(cause: Cause, statement: Statement) -> tuple[Axis, ...]:
    """The axes of the table whose cells a cause tells: its correction's, else the first map's."""
    if not statement.sheets:
        return ()
    owner = statement.owner(cause)
    correction = owner.calibration.spark.find(cause.correction or "") if owner else None
    if correction is not None:
        return correction.axes
    return statement.sheets[0].calibration.spark.map.axes


def loading(statement: Statement) -> list[str]:
    """What loading the supplied revision would change besides, a sentence each."""
    return list(statement.loading.sentences) if statement.loading else []


def try_next(statement: Statement) -> list[str]:
    """What to log next, where no cause's own next step says it already."""
    told = " ".join(cause.next_step for cause in statement.causes)
    return [
        f"{one.sentence} It would tell {one.tells}." if one.bits else one.sentence
        for one in statement.experiments
        if one.sentence.rstrip(".") not in told
    ]


def cautions(statement: Statement) -> list[str]:
    """What has to be said once beside this statement, for the sake of people and engines."""
    if statement.verdict in ("agrees", "expected") and not statement.raised_under_load:
        return [
            "This is the ECU's own report, not a measurement at the crank, and to agree is not to "
            "be safe. With a timing light, keep clear of rotating parts, hot surfaces and "
            "ignition voltage."
        ]
    if statement.verdict == "cannot tell" and not statement.causes:
        return ["Not to know is not to agree: until this is known, spare the engine high load."]
    out = [
        "Too much advance can detonate an engine in seconds; too much retard overheats exhaust, "
        "valves and turbo. Change in small steps, with knock and exhaust temperature watched, on "
        "a dynamometer or closed course, by someone qualified. Vehicles for public roads must "
        "keep to the local emission and safety rules."
    ]
    found = statement.running
    if statement.loading is None and found is not None and found.best not in (None, found.supplied):
        out.append(
            "Loading another revision switches on every other difference too: save what is in the "
            "car first, and look at all of them."
        )
    return out
