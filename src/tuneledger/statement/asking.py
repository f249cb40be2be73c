"""What is missing to know more: what to log, which files, which drive, which channel is which."""

from collections.abc import Iterator, Sequence

from tuneledger.calibrations.model import Correction, readings
from tuneledger.explain.model import RATE, SURE, Cause, Rule
from tuneledger.explain.nextstep import FUEL, PROTECTING
from tuneledger.record import record
from tuneledger.roles.model import Doubt
from tuneledger.statement import words
from tuneledger.statement.model import Statement
from tuneledger.wording import listing, quantity, share

# Samples per second from which an event of a fifth of a second is seen: common practice, no source.
ENOUGH_HZ = 20.0
# Without these a difference can hardly be traced to what it depends on.
_BASIC = (
    "scheduled advance",
    "engine speed",
    "throttle position",
    "manifold absolute pressure",
    "intake air temperature",
    "engine coolant temperature",
)
_EITHER_LOAD = ("manifold absolute pressure", "engine load")
_UNFOUND = ("hidden rule", "unknown")
_SHEETS_OWN = ("correction", "replacement", "other revision")
_MOST_WANTED = 3


@record
class Asking:
    """What to ask for, each in words that whoever holds the car understands.

    files: calibrations and read-backs; channels: what to log, with why; drives: what to drive, and
    how fast to log; questions: what only they can say
    """

    files: tuple[str, ...]
    channels: tuple[str, ...]
    drives: tuple[str, ...]
    questions: tuple[str, ...]

    def __bool__(self) -> bool:
        return bool(self.files or self.channels or self.drives or self.questions)


def asking(statement: Statement) -> Asking:
    """What a statement leaves open, as requests."""
    return Asking(
        files=tuple(_files(statement)),
        channels=tuple(_channels(statement)),
        drives=tuple(_drives(statement)),
        questions=tuple(_questions(statement)),
    )


def settled(statement: Statement) -> bool:
    """Whether nothing is left to be known about the car itself."""
    return statement.verdict in ("agrees", "expected") and not statement.raised_under_load


def _in_no_file(cause: Cause) -> bool:
    """Whether nothing supplied has it: it was read out of the log, or not explained at all."""
    return cause.kind in _UNFOUND or (cause.rule is not None and cause.rule.hold is not None)


def _files(statement: Statement) -> Iterator[str]:
    running = statement.running
    own = running.read_out if running else ()
    if all(sheet.file in own for sheet in statement.sheets):
        yield "the calibration that the ECU is said to run, as the file it was loaded from"
        if not settled(statement):
            yield "what is in the ECU now: read it back and send it as it is, before any change"
        return
    if settled(statement) and running is not None and running.twins:
        yield "what is in the ECU now, read back: this log alone cannot tell which revision it is"
    elsewhere = running is not None and running.best != running.supplied
    unlisted = any(_in_no_file(cause) and not cause.expected for cause in statement.causes)
    silent = running is not None and not running.matches_supplied and bool(statement.causes)
    for cause in statement.causes:
        if cause.cells and cause.kind != "other map":
            yield f"the numbers that revision {cause.revision} leaves open in '{cause.correction}'"
    if elsewhere or unlisted or silent:
        yield (
            "what is in the ECU now: read it back and send it as it is, before anything is loaded, "
            "and keep a copy of it"
        )


def _channels(statement: Statement) -> Iterator[str]:
    asked = set()
    for need in statement.needs:
        asked.add(need.what.casefold())
        yield f"{need.what} ({need.why})"
    if statement.sheets or not any(map(_in_no_file, statement.causes)):
        return
    known = {signal for a in statement.logs for signal in a.roles.by_signal}
    if known & set(_EITHER_LOAD):
        known |= set(_EITHER_LOAD)
    lacking = [name for name in _BASIC if name not in known and name not in asked]
    if lacking:
        yield f"{listing(lacking)}, so that it can be seen what the difference depends on"


def _drives(statement: Statement) -> Iterator[str]:
    slow = [a.log for a in statement.logs if 0 < a.log.rate_hz < ENOUGH_HZ]
    again = bool(statement.needs)
    if slow and not settled(statement):
        yield (
            f"the next log at {quantity(ENOUGH_HZ, 'samples')} a second or more "
            f"({slow[0].file} has {quantity(round(slow[0].rate_hz, 1), '')})"
        )
    if statement.raised_under_load:
        return  # nothing is to be tried
    doubtful = [
        c for c in statement.causes if c.kind == "hidden rule" and c.alternatives and not c.expected
    ]
    for cause in doubtful[:1]:
        yield from _telling_drive(cause, statement)
        again = False
    unknown = any(cause.kind == "unknown" for cause in statement.causes)
    if again or unknown:
        yield (
            "the same drive once more, no harder than this one, with delivered and scheduled "
            "advance in one log"
        )


def _telling_drive(cause: Cause, statement: Statement) -> Iterator[str]:
    """The drive that the statement itself asks for; none where it asks for none."""
    chosen = [one for one in statement.experiments if one.cause in (cause.entry, cause.correction)]
    told = [
        f"{one.sentence.removeprefix('Next log: ').rstrip('.')}; it tells {one.tells}"
        for one in chosen
        if one.bits
    ]
    if told:
        yield f"another drive, no harder than this one: {'. '.join(told)}"
    elif not chosen:
        yield _drive_apart(cause)


def _drive_apart(cause: Cause) -> str:
    """The drive on which channels that went together here go apart."""
    mine = _read(cause.rule) if cause.rule else []
    others = [name for rule in cause.alternatives[:2] for name in _read(rule)]
    apart = list(dict.fromkeys(name for name in others if name not in mine))
    if not mine or not apart:
        return "another ordinary drive, no harder than this one"
    return (
        f"another ordinary drive, no harder than this one and with no switch turned for it: it "
        f"tells where {listing(mine)} and {listing(apart, 'or')} do not change together"
    )


def _read(rule: Rule) -> list[str]:
    """The channels that a rule reads, each once."""
    conditions = [*rule.when, *(one["since"] for one in rule.when if "since" in one)]
    names = [str(one["channel"]) for one in conditions if "channel" in one]
    if rule.along is not None:
        names.append(rule.along.channel)
    return list(dict.fromkeys(names))


def _questions(statement: Statement) -> Iterator[str]:
    running = statement.running
    if running is not None and running.changed:
        yield f"was anything loaded or edited then? The car {running.says}"
    for doubt in doubts_that_matter(statement):
        if doubt.instead is not None:
            name = doubt.candidates[0][0].name
            yield f"is {name} the {doubt.signal}, or the {doubt.instead[0]}?"
            continue
        names = [f"{c.name} ({share(certainty)})" for c, certainty in doubt.candidates[:3]]
        likely = f": {listing(names, 'or')}, or another" if names else ""
        yield f"which channel is {doubt.signal}{likely}?"
    yield from dict.fromkeys(_wanted(statement))
    doubtful = next((c for c in statement.causes if c.certainty < SURE and not c.expected), None)
    if doubtful is not None and not statement.sheets:
        yield "was anything switched, pressed or changed during the drive, and when?"


def _wanted(statement: Statement) -> Iterator[str]:
    """Whether what a sheet's corrections did was meant: the log cannot say that."""
    for cause in statement.causes[:_MOST_WANTED]:
        correction = _correction(cause, statement)
        if cause.rule is not None and cause.rule.hold is not None:
            yield f"is the advance meant to be {words.rule(cause.rule, words.units(statement))}?"
        elif cause.entry == RATE:
            yield f"is it meant that {words.limit_told(cause)}?"
        elif cause.kind == "limit":
            yield "are the limits of the advance meant to cut what the map asks for here?"
        elif (
            correction is None
            or cause.certainty < SURE
            or (cause.expected and not cause.raises_under_load)
        ):
            continue
        elif correction.reason == FUEL and cause.degrees < 0:
            yield f"was the fuel in the tank the one that '{correction.called}' is for?"
        elif correction.reason in PROTECTING and cause.degrees < 0:
            yield (
                f"what may have made '{correction.called}' act? It protects the engine, so please "
                "look before it is driven hard again"
            )
        else:
            yield f"is '{correction.called}' meant to act as it did here?"


def _correction(cause: Cause, statement: Statement) -> Correction | None:
    """The sheet's correction that a cause is, where it is one."""
    for sheet in statement.sheets:
        if cause.file in (None, sheet.file) and cause.kind in _SHEETS_OWN:
            for correction in sheet.calibration.spark.correction:
                if correction.id == cause.correction:
                    return correction
    return None


def doubts_that_matter(statement: Statement) -> list[Doubt]:
    """Signals without a sure channel on which something turns: the advance, and what sheets read.

    The first log's come first; a signal is asked for once.
    """
    wanted = {"delivered advance", "scheduled advance"}
    for sheet in statement.sheets:
        for reading in readings(sheet.calibration.spark):
            wanted |= {n for n in (reading.signal, reading.minus, reading.over) if n is not None}
    found: dict[str, Doubt] = {}
    for account in statement.logs:
        for doubt in account.roles.doubts:
            if doubt.signal in wanted and doubt.candidates:
                found.setdefault(doubt.signal, doubt)
    for doubt in list(found.values()):  # the same question the other way round
        if doubt.signal == "delivered advance" and doubt.instead is not None:
            found.pop(doubt.instead[0], None)
    first = ("delivered advance", "scheduled advance")
    return sorted(found.values(), key=lambda d: (d.signal not in first, d.signal))


def files_of(statement: Statement) -> Sequence[str]:
    """The names of everything that was looked at."""
    return [*(a.log.file for a in statement.logs), *(sheet.file for sheet in statement.sheets)]
