"""What says how a cause acts: a correction of a sheet, a limit, or a rule read out of a log."""

from collections.abc import Sequence

from tuneledger.calibrations.check import check
from tuneledger.calibrations.model import FORMAT, Calibration
from tuneledger.change.places import names_read
from tuneledger.errors import SheetError
from tuneledger.evaluate.combine import LIMIT
from tuneledger.evaluate.model import Inputs
from tuneledger.explain.model import RATE, Cause, Rule
from tuneledger.signals import SIGNALS
from tuneledger.statement.json import as_rule
from tuneledger.statement.model import Statement


def definition(cause: Cause, statement: Statement) -> tuple[Calibration, str] | None:
    """The sheet that has what the cause is, and the id there; None where nothing says it."""
    sheet, name = _sheet_of(cause, statement), cause.correction
    if cause.rule is not None:
        sheet, name = _sheet_with(cause.rule), "rule"
    elif cause.kind == "limit" and cause.entry != RATE and statement.sheets:
        sheet, name = statement.sheets[0].calibration, LIMIT
    return None if sheet is None or name is None else (sheet, name)


def unlogged(cause: Cause, statement: Statement, logs: Sequence[Inputs]) -> tuple[str, ...]:
    """What the cause reads and one of these logs does not carry."""
    return tuple(
        name for name in reads(cause, statement) if not all(_carries(log, name) for log in logs)
    )


def reads(cause: Cause, statement: Statement) -> tuple[str, ...]:
    """The signals and channels that the cause is known to read."""
    found = definition(cause, statement)
    correction = found[0].spark.find(found[1]) if found else None
    return () if correction is None else tuple(names_read([correction]))


def _carries(log: Inputs, name: str) -> bool:
    if name in SIGNALS and log.signal(name, None) is not None:
        return True
    return log.channel(name, None) is not None


def _sheet_of(cause: Cause, statement: Statement) -> Calibration | None:
    """The sheet whose correction the cause names: its own, else the first with it."""
    having = [
        s
        for s in statement.sheets
        if cause.correction and (c := s.calibration.spark.find(cause.correction)) and c.has_numbers
    ]
    owner = statement.owner(cause)
    own = [s for s in having if s is owner]
    return next((s.calibration for s in [*own, *having]), None)


def _sheet_with(rule: Rule) -> Calibration | None:
    """A sheet whose only correction is a rule that was read out of a log."""
    raw = as_rule(rule)
    correction: dict[str, object] = {"id": "rule", "when": raw["when"]}
    if rule.along is not None:
        axis = {"channel": rule.along.channel, "at": list(rule.along.at)}
        correction |= {"axes": [axis], "values": list(rule.along.deg)}
    else:
        correction["amount"] = rule.amount_deg
    if rule.ramp is not None:
        correction["ramp"] = raw["ramp"]
    try:
        return check(
            {
                "format": FORMAT,
                "revision": "rule",
                "spark": {"map": {"amount": 0.0}, "correction": [correction]},
            }
        )
    except SheetError:
        return None  # a rule in words that a sheet does not have
