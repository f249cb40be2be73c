"""What a proof calls a cause, so that no two causes of a drive have one name."""

from collections.abc import Callable

from tuneledger.explain.model import RATE, Cause
from tuneledger.explain.says import ENTRY_NAMES
from tuneledger.phrases import acting
from tuneledger.statement import words
from tuneledger.statement.facts import called as revision_called
from tuneledger.statement.model import Statement

_KINDS = {
    "hidden rule": "the rule read out of the log",
    "unknown": "what nothing explained",
    "other map": "another main map",
    "other revision": "another main map",
    "limit": "the limits of the advance",
    "replacement": "a fixed advance",
    "log timing": "the timing of the log",
    "sign": "the sign of a channel",
    "unit": "the unit of a channel",
}


def called(cause: Cause, statement: Statement) -> str:
    """A correction by its title, else its id; what is none by what it is.

    Where another cause of the statement would be called the same, with what tells them apart: the
    channel, the revision, the rule's own words, the id, else the rank in the statement.
    """
    name = _plain(cause, statement)
    alike = [one for one in statement.causes if _plain(one, statement) == name]
    if len(alike) < 2:
        return name
    for detail in _DETAILS:
        told = [detail(one, statement) for one in alike]
        if all(told) and len(set(told)) == len(told):
            return f"{name} ({detail(cause, statement)})"
    return f"{name} (number {cause.rank})"


def _plain(cause: Cause, statement: Statement) -> str:
    for sheet in statement.sheets:
        correction = sheet.calibration.spark.find(cause.correction or "")
        if correction is not None:
            return correction.called
    if cause.entry == RATE:
        return ENTRY_NAMES[RATE]
    if cause.kind == "hidden rule":
        return "the idle governor" if cause.expected else _KINDS["hidden rule"]
    if cause.correction:
        return f"'{cause.correction}'"
    if cause.channel and cause.kind not in _KINDS:
        return f"what {cause.channel} carries"
    return _KINDS.get(cause.kind, f"the {cause.kind}")


def _revision(cause: Cause, statement: Statement) -> str:
    if cause.revision is None:
        return ""
    return f"revision {revision_called(statement, cause.revision, cause.file)}"


def _rule(cause: Cause, statement: Statement) -> str:
    if cause.rule is None:
        return ""
    units = words.units(statement)
    return acting(cause.rule.when, units) or words.rule(cause.rule, units)


_DETAILS: tuple[Callable[[Cause, Statement], str], ...] = (
    lambda cause, _: cause.channel or "",
    _revision,
    _rule,
    lambda cause, _: cause.correction or "",
)
