"""What was looked at and how it came out, in words: verdict, running revision, logs, channels."""

from collections.abc import Collection

from tuneledger.explain.inturn import tells_when
from tuneledger.explain.model import SURE, Running
from tuneledger.statement.model import LogAccount, Statement
from tuneledger.wording import (
    count,
    degrees,
    instant,
    listing,
    number,
    seconds,
    share,
    these_logs,
)

VERDICTS = {
    "agrees": "nothing beyond the tolerance was found",
    "expected": "all that differs is wanted, or is ordinary idle work",
    "explained": "every episode has a cause that is sure enough",
    "unexplained": "not all that was found has a cause that is sure enough",
    "cannot tell": "what was handed over is not enough, see what is needed",
}
_MOST_BUT = 2
_UNNAMED = {"unknown": "what nothing accounts for", "other map": "another map"}
_NOT_ALL = ", but that does not account for all"


def verdict(statement: Statement) -> str:
    """`explained: every difference has a cause that is sure enough`."""
    return f"{statement.verdict}: {verdict_says(statement)}"


def verdict_says(statement: Statement) -> str:
    """What the verdict means here, all of it."""
    said = VERDICTS[statement.verdict]
    if statement.raised_under_load and statement.verdict in ("agrees", "expected"):
        return f"{said}; but delivered stands above scheduled under load"
    doubtful = sum(not c.expected and c.certainty < SURE for c in statement.causes)
    if statement.verdict == "explained" and doubtful:
        return f"{said}; {count(doubtful, 'other cause')} {'is' if doubtful == 1 else 'are'} not"
    return said


def called(statement: Statement, revision: str, file: str | None) -> str:
    """What to call a revision: with its file, where another sheet bears the same name."""
    twins = sum(sheet.calibration.revision == revision for sheet in statement.sheets)
    return f"{revision} ({file})" if twins > 1 and file is not None else revision


def running(statement: Statement) -> str:
    """Like which revision the ECU behaves, how sure that is, and how far off each sheet is."""
    found = statement.running
    if found is None:
        return "not judged" if statement.sheets else "not known, no sheet was given"
    if len(found.unjudged) == len(statement.sheets):
        return found.says
    parts = [*_like(statement, found), *_misfits(statement, found)]
    mute = tuple(file for file in found.unjudged if file not in found.read_out)
    if mute:
        parts.append(f"{_unjudged(statement, mute)} of these logs")
    if found.read_out:
        names = _names(statement, found.read_out)
        parts.append(f"{listing(names)} was read out of these very logs")
    told = found.best is not None and tells_when(found.spans, len(statement.logs))
    parts += [] if told else _changes(statement)
    return "; ".join(parts)


def _like(statement: Statement, found: Running) -> list[str]:
    """Like which revision it behaves, held against the one that was given first."""
    judged = [s for s in statement.sheets if s.file not in found.read_out] or statement.sheets
    first = judged[0].file
    # Of several, the order decides which one is meant.
    given = ", given first" if len(judged) > 1 else ""
    supplied, sure = called(statement, found.supplied, first), f"{share(found.certainty)} sure"
    if found.best is None:
        nearest = nearly(statement)
        if found.changed and nearest:
            parts = [f"like {nearest}"]
        else:
            parts = ["like none of the supplied revisions"]
            parts += [f"nearest is {nearest}"] if nearest else []
        return parts + ([f"{supplied} was given first and is said to run"] if given else [])
    best, these = called(statement, found.best, found.best_file), these_logs(len(statement.logs))
    if found.changed:
        return [f"{found.says.removeprefix('behaves ')} ({sure})"]
    if found.best_file != first and first in found.unjudged:
        return [f"like revision {best} ({sure})"]
    if found.best_file != first and first not in found.twins:
        if found.twins:
            others = listing(_names(statement, found.twins), "or")
            best = f"{best} or {others}, which {these} cannot tell apart"
        return [f"like revision {best}, not the supplied {supplied}{given} ({sure})"]
    short = "" if found.matches_supplied else _NOT_ALL
    if found.twins:
        twins = [file for file in (found.best_file, *found.twins) if file not in (first, None)]
        others = listing(_names(statement, twins), "or")
        return [
            f"like revision {supplied}, as supplied{given}, or {others}: {these} cannot tell "
            f"them apart{short}"
        ]
    return [f"like revision {supplied}, as supplied{given} ({sure}){short}"]


def nearly(statement: Statement) -> str:
    """`revision D but for rule-1`: the sheet whose corrections were found at work, or those that
    were in turn, and what there is beside them; empty where none was found at work."""
    own = [c for c in statement.causes if c.entry is not None and c.file is not None]
    rest = [c for c in statement.causes if c not in own and not c.expected]
    if not rest or not any(cause.certainty >= SURE for cause in own):
        return ""
    name = _at_work(statement, {cause.file for cause in own})
    names = list(
        dict.fromkeys(c.correction or c.entry or _UNNAMED.get(c.kind, str(c.kind)) for c in rest)
    )
    told = names[:_MOST_BUT]
    if len(names) > len(told):
        told.append(f"{len(names) - len(told)} more")
    return f"{name} but for {listing(told)}" if name else ""


def _at_work(statement: Statement, files: set[str | None]) -> str:
    """What to call the sheets with these files; empty for several that did not run in turn."""
    if statement.running is not None and statement.running.changed:
        return f"{statement.running.says.removeprefix('behaves like ')},"
    sheet = next((s for s in statement.sheets if s.file in files), None)
    if sheet is None or len(files) != 1:
        return ""
    return f"revision {called(statement, sheet.calibration.revision, sheet.file)}"


def _misfits(statement: Statement, found: Running) -> list[str]:
    """How far off each sheet is, where there is something to compare."""
    offs = [
        f"{degrees(r.misfit_deg, 2, signed=False)} for {called(statement, r.revision, r.file)}"
        for r in found.ranking
        if r.file not in found.unjudged
    ]
    return [f"misfit {fold(offs, 4, ', ')}"] if len(offs) > 1 or found.best is None else []


def _names(statement: Statement, files: Collection[str | None]) -> list[str]:
    """The revisions in these files, in the order of the sheets."""
    return [
        called(statement, sheet.calibration.revision, sheet.file)
        for sheet in statement.sheets
        if sheet.file in files
    ]


def _unjudged(statement: Statement, mute: tuple[str, ...]) -> str:
    """`revision A says nothing`: of sheets that no log can be held against."""
    names = _names(statement, mute)
    who, says = ("revisions", "say") if len(names) > 1 else ("revision", "says")
    return f"{who} {listing(names)} {says} nothing"


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
        against = f"the map of {statement.sheets[0].file}, since {_no_scheduled(account)}"
    else:
        return f"nothing: {given.channel.name} is delivered, but {_no_scheduled(account)}"
    fine = degrees(statement.judged_beyond_deg, 2, signed=False).replace("0°", "°")
    return (
        f"{given.channel.name} (delivered{_doubt(given.certainty)}) with {against}, within {fine}"
    )


def _no_scheduled(account: LogAccount) -> str:
    unsure = any(doubt.signal == "scheduled advance" for doubt in account.roles.doubts)
    return "no channel is surely scheduled" if unsure else "scheduled is not logged"


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


def fold(texts: list[str], most: int, joiner: str) -> str:
    """The first few, and how many more there are and where to find them."""
    if len(texts) <= most:
        return joiner.join(texts)
    return f"{joiner.join(texts[:most])}{joiner}{more(len(texts) - most)}"


def more(left: int) -> str:
    """The line that says how many were left out here and where they stand."""
    return f"and {left} more, see --json"
