"""The statement's values in words, the same on the terminal and on the page."""

from tuneledger.calibrations.model import Axis
from tuneledger.explain.account import OTHER_MAP
from tuneledger.explain.model import Cause, Rule
from tuneledger.ledger.model import Episode
from tuneledger.phrases import acting
from tuneledger.statement.model import LogAccount, Statement
from tuneledger.wording import (
    count,
    degree_span,
    degrees,
    instant,
    listing,
    number,
    quantity,
    seconds,
    share,
    unit_words,
)

VERDICTS = {
    "agrees": "nothing beyond the tolerance was found",
    "expected": "all that differs is wanted, or is ordinary idle work",
    "explained": "every difference has a cause that is sure enough",
    "unexplained": "not every difference has a cause that is sure enough",
    "cannot tell": "what was handed over is not enough, see what is needed",
}
EVIDENCE = {
    "logged": "a channel of the log carries it",
    "computed": "a sheet and the log's inputs give it",
    "inferred": "fitted from the log alone",
    "none yet": "nothing in these files carries or computes it",
}
NO_EVIDENCE = "none yet"

_UNPOSTED = {
    "other map": "another map",
    "log timing": "timing of the log",
    "sign": "sign of a channel",
    "unit": "unit of a channel",
    "limit": "limit",
    "unknown": "not explained",
}


def verdict(statement: Statement) -> str:
    """`explained: every difference has a cause that is sure enough`."""
    said = f"{statement.verdict}: {VERDICTS[statement.verdict]}"
    if statement.raised_under_load and statement.verdict in ("agrees", "expected"):
        return f"{said}; but delivered stands above scheduled under load"
    return said


def running(statement: Statement) -> str:
    """Like which revision the ECU behaves, how sure that is, and how far off each sheet is."""
    found = statement.running
    if found is None:
        return "not judged" if statement.sheets else "not known, no sheet was given"
    sure = f"{share(found.certainty)} sure"
    if found.best is None:
        parts = ["like none of the supplied revisions"]
    elif found.changed:
        parts = [f"{found.says.removeprefix('behaves ')} ({sure})"]
    elif found.best != found.supplied:
        parts = [f"like revision {found.best}, not the supplied {found.supplied} ({sure})"]
    elif found.twins:
        others = [s.calibration.revision for s in statement.sheets if s.file in found.twins]
        parts = [
            f"like revision {found.supplied}, as supplied, or {listing(others, 'or')}: these logs "
            "cannot tell them apart"
        ]
    elif found.matches_supplied:
        parts = [f"like revision {found.supplied}, as supplied ({sure})"]
    else:
        parts = [
            f"like revision {found.supplied}, as supplied ({sure}), but that does not account for "
            "all"
        ]
    offs = [f"{degrees(r.misfit_deg, 2, signed=False)} for {r.revision}" for r in found.ranking]
    if len(offs) > 1 or found.best is None:
        parts.append("misfit " + fold(offs, 4, ", "))
    told = found.best is not None and " until " in found.says
    parts += [] if told else _changes(statement)
    return "; ".join(parts)


def _changes(statement: Statement) -> list[str]:
    spans = statement.running.spans if statement.running else ()
    out = []
    for index, account in enumerate(statement.logs):
        own = [span for span in spans if span.log == index]
        if len(own) > 1:
            stations = [f"{s.revision or 'none of them'} from {instant(s.start_s)}" for s in own]
            out.append(f"in {account.log.file} " + fold(stations, 4, ", "))
    return out


def compared(statement: Statement) -> list[str]:
    """Which channels were held against each other, and how finely; per log where they differ."""
    texts = [_compared(account, statement) for account in statement.logs]
    if len(set(texts)) == 1:
        return texts[:1]
    return [f"{a.log.file}: {text}" for a, text in zip(statement.logs, texts, strict=True)]


def _compared(account: LogAccount, statement: Statement) -> str:
    asked = account.roles.get("scheduled advance")
    given = account.roles.get("delivered advance")
    if given is None:
        return "nothing: no channel is the delivered advance"
    if asked is not None:
        against = f"{asked.channel.name} (scheduled{_doubt(asked.certainty)})"
    elif statement.sheets:
        against = f"the map of {statement.sheets[0].file}, since scheduled is not logged"
    else:
        return f"nothing: {given.channel.name} is delivered, but scheduled is not logged"
    fine = degrees(statement.tolerance_deg, 2, signed=False).replace("0°", "°")
    return (
        f"{given.channel.name} (delivered{_doubt(given.certainty)}) with {against}, within {fine}"
    )


def _doubt(certainty: float) -> str:
    return "" if certainty >= 0.9 else f", {share(certainty)} sure"


def logs(statement: Statement) -> str:
    """The logs with their lengths: `climb-2.csv, 61 s, 6131 samples at 100 Hz`."""
    texts = [
        f"{a.log.file}, {seconds(a.log.duration_s)}, {count(a.log.samples, 'sample')} at "
        f"{number(a.log.rate_hz, 3)} Hz"
        for a in statement.logs
    ]
    return fold(texts, 3, "; ")


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
        name = _UNPOSTED.get(kind, kind)
        if cause.kind == "other revision" and cause.revision:
            name += f", revision {cause.revision}"
        return f"{name}, {cause.channel}" if cause.channel else name
    name = cause.correction
    if cause.revision:
        name += f", revision {cause.revision}"
    return name


def regimes(episode: Episode) -> str:
    """What the engine was doing in an episode: `load`, or `load 55 %, overrun 30 %, shift 15 %`."""
    parts = episode.by_regime
    if len(parts) == 1:
        return parts[0].regime
    return ", ".join(f"{part.regime} {round(part.share * 100)} %" for part in parts)


def evidence(cause: Cause, statement: Statement) -> str:
    """`logged`, `computed` or `inferred`, as the entries that the cause posts have it."""
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
        return "computed" if statement.sheets else "inferred"
    return (
        "inferred" if cause.kind in ("hidden rule", "log timing", "sign", "unit") else NO_EVIDENCE
    )


def units(statement: Statement) -> dict[str, str]:
    """Channel name → unit as the logs have it."""
    return {c.name: c.unit for a in reversed(statement.logs) for c in a.log.channels}


def rule(found: Rule, units: dict[str, str]) -> str:
    """A rule in one phrase: `−4.0° while Wet switch is 1 and Plate is above 55 %`."""
    when = acting(found.when, units)
    if found.along is not None:
        curve = found.along
        unit = units.get(curve.channel, "")
        what = (
            f"{degree_span(curve.deg[0], curve.deg[-1])} as {curve.channel} goes from "
            f"{number(curve.at[0])} to {quantity(curve.at[-1], unit)}"
        )
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
    for sheet in statement.sheets:
        correction = sheet.calibration.spark.find(cause.correction or "")
        if correction is not None and sheet.calibration.revision == cause.revision:
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


def fold(texts: list[str], most: int, joiner: str) -> str:
    """The first few, and how many more there are and where to find them."""
    if len(texts) <= most:
        return joiner.join(texts)
    return f"{joiner.join(texts[:most])}{joiner}{more(len(texts) - most)}"


def more(left: int) -> str:
    return f"and {left} more, see --json"
