"""Why there is no change order: a sign, a role or what runs in the car is in doubt."""

from collections.abc import Iterator, Sequence

from tuneledger.calibrations.drafted import sources_of
from tuneledger.calibrations.model import Correction
from tuneledger.change.places import names_read
from tuneledger.explain.model import Span
from tuneledger.roles.model import Role
from tuneledger.statement.facts import called
from tuneledger.statement.model import Statement
from tuneledger.wording import listing, share

# A role below this is in doubt: the certainty that a cause needs to count as explained.
_SURE = 0.8
_TOLD = 1.0  # somebody's word
_READ_BY_ALL = ("scheduled advance", "delivered advance")


def doubts(statement: Statement, touched: Sequence[Correction]) -> Iterator[str]:
    """Sentences on the signs, roles and revisions that are in doubt; none where nothing is.

    touched: the corrections that the edits change
    """
    if any(account.ledger is None for account in statement.logs):
        yield statement.headline
        return
    sheet = statement.sheets[0].calibration
    if sources := sources_of(sheet):
        yield (
            f"revision {sheet.revision} was read out of {listing(one.file for one in sources)} and "
            "is not for loading: give the sheet that is in the car"
        )
    read = {*_READ_BY_ALL, *names_read([sheet.spark.map, *touched])}
    for account in statement.logs:
        for signal in sorted(read):
            role = account.roles.get(signal)
            if role is not None:
                yield from _doubts_of(role, signal in _READ_BY_ALL)
        for doubt in account.roles.doubts:
            if doubt.signal in read:
                names = [f"'{c.name}' ({share(p)})" for c, p in doubt.candidates[:2]]
                which = f" (perhaps {listing(names, 'or')})" if names else ""
                yield f"which channel is {doubt.signal} is not sure{which}: say it in a roles file"
    for cause in statement.causes:
        if cause.kind == "sign" and cause.certainty < _TOLD:
            yield f"{cause.says} Settle the sign in a roles file first."
    yield from _apart(statement)
    running = statement.running
    if running is not None and len(running.unjudged) == len(statement.sheets):
        yield (
            f"which sheet is in the car {running.says}: read the ECU back, save that, and give its "
            "sheet"
        )
    elif running is not None and (running.best is None or running.in_car is None):
        last = ", at the end of these logs" if running.best else ""
        yield (
            f"the car behaves like none of these sheets{last}, so nobody can say what loading one "
            "would change: read the ECU back, save that, and give its sheet"
        )


def _apart(statement: Statement) -> Iterator[str]:
    """Logs that end under different revisions: the order in which they were driven is not known."""
    ends: dict[int, Span] = {}
    for span in sorted(statement.running.spans if statement.running else (), key=_start):
        ends[span.log] = span
    if len({span.file for span in ends.values()}) < 2:
        return
    told = listing(
        f"{statement.logs[log].log.file} ends like {_like(statement, end)}"
        for log, end in sorted(ends.items())
    )
    yield (
        f"these logs ran different revisions ({told}), and which of them is in the car now they do "
        "not say: give only the logs of the revision that is in it"
    )


def _like(statement: Statement, end: Span) -> str:
    if end.revision is None:
        return "none of these sheets"
    return f"revision {called(statement, end.revision, end.file)}"


def _start(span: Span) -> float:
    return span.start_s


def _doubts_of(role: Role, is_advance: bool) -> Iterator[str]:
    name = f"'{role.channel.name}' as {role.signal}"
    if role.certainty < _SURE:
        yield f"{name} is only {share(role.certainty)} sure: say it in a roles file"
    if role.relabelled == "sign" and is_advance and role.certainty < _TOLD:
        yield f"{name} was read against its own sign: say in a roles file that this is right"
