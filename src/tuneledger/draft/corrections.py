"""Which corrections the log has shown, as a sheet would list them."""

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

import numpy as np

from tuneledger.calibrations.model import Correction, Limits, Reason
from tuneledger.draft.model import DraftedCorrection, DraftedLimits
from tuneledger.draft.points import blanked, shown_points
from tuneledger.evaluate.model import Evidence, Inputs
from tuneledger.explain.model import RATE, Cause
from tuneledger.explain.written import as_correction
from tuneledger.ledger.model import Entry, Ledger
from tuneledger.roles.model import Roles
from tuneledger.statement import words
from tuneledger.statement.model import Statement, SuppliedSheet
from tuneledger.wording import count, degrees, seconds, share, visible

LIMIT, OTHER_MAP = "limit", "other-map"
_REASONS: Mapping[str, Reason] = {
    "engine coolant temperature": "coolant temperature",
    "intake air temperature": "air temperature",
    "oil temperature": "oil temperature",
    "oil pressure": "sensor guard",
    "fuel pressure": "sensor guard",
    "module voltage": "battery voltage",
    "knock level": "knock",
    "barometric pressure": "altitude",
    "ethanol content": "fuel",
}


def drafted_corrections(
    statement: Statement, inputs: Sequence[Inputs]
) -> Iterator[DraftedCorrection]:
    """Every correction that the log has shown, in the order of the causes.

    inputs: one per log with a ledger
    """
    number = 0
    for cause in statement.causes:
        if cause.entry is None or cause.kind in ("other map", "unknown"):
            continue
        if cause.kind == "limit" and not (cause.rule and cause.rule.when):
            continue
        if cause.entry == OTHER_MAP or not _posted(statement, cause):
            continue
        listed = _listed(statement, cause)
        if listed is not None:
            sheet, correction = listed
            yield _from_sheet(statement, cause, sheet, correction, inputs)
        elif cause.rule is not None or cause.channel is not None:
            number += 1
            yield _from_log(statement, cause, f"inferred-{number}")


def drafted_limits(statement: Statement) -> DraftedLimits | None:
    """The limits that the log has shown to act, of a sheet or read out of the log."""
    causes = [
        c
        for c in statement.causes
        if c.kind == "limit" and c.entry != RATE and not (c.rule and c.rule.when)
    ]
    read = [c for c in causes if c.rule is not None and c.rule.hold is not None]
    if read:
        return _limits_read(read)
    cause = next(iter(causes), None)
    if cause is None:
        return None
    owner = statement.owner(cause)
    limits = owner.calibration.spark.limits if owner else None
    if limits is None or owner is None:
        return None
    values = [e.values for e in entries(statement, LIMIT)]
    acted = np.concatenate([v[np.isfinite(v)] for v in values]) if values else np.zeros(0)
    shown = Limits(
        lowest=limits.lowest if (acted > statement.judged_beyond_deg).any() else None,
        highest=limits.highest if (acted < -statement.judged_beyond_deg).any() else None,
    )
    remark = f"as revision {owner.calibration.revision} has it; {_shown(cause)}"
    return DraftedLimits(shown, cause.certainty, remark)


def _limits_read(causes: Sequence[Cause]) -> DraftedLimits:
    """The highest and the lowest advance that delivered was seen to be held at."""
    holds = [cause.rule.hold for cause in causes if cause.rule and cause.rule.hold]
    shown = Limits(
        lowest=next((h.degrees for h in holds if h.effect == "at least"), None),
        highest=next((h.degrees for h in holds if h.effect == "at most"), None),
    )
    said = [f"{words.rule(c.rule, {})}; {_shown(c)}" for c in causes if c.rule]
    return DraftedLimits(shown, min(c.certainty for c in causes), "; ".join(said))


def left_out(statement: Statement) -> Iterator[str]:
    """What the log has shown and no sheet can say."""
    for cause in statement.causes:
        if cause.entry == RATE:
            yield f"{visible(cause.says)} A sheet has no word for that."
        if cause.kind in ("limit", "other map") or cause.entry == OTHER_MAP:
            continue
        if cause.kind == "unknown":
            yield visible(cause.says)
        elif cause.entry is None or not _posted(statement, cause):
            yield f"{visible(cause.says)} It takes or adds nothing here and is left out."
        elif _listed(statement, cause) is None and cause.rule is None and cause.channel is None:
            yield f"{visible(cause.says)} What switches it is not known."


def entries(statement: Statement, name: str) -> list[Entry]:
    """The entries of that name in all logs."""
    return [e for ledger in ledgers(statement) for e in ledger.entries if e.correction == name]


def ledgers(statement: Statement) -> list[Ledger]:
    """The ledgers of the logs that have one, in the order of the logs."""
    return [account.ledger for account in statement.logs if account.ledger is not None]


def _posted(statement: Statement, cause: Cause) -> bool:
    return bool(entries(statement, cause.entry or ""))


def _listed(statement: Statement, cause: Cause) -> tuple[SuppliedSheet, Correction] | None:
    """The correction of a sheet that the cause is, and the log confirms as it stands."""
    if cause.correction is None or cause.rule is not None:
        return None
    sheet = statement.owner(cause)
    correction = sheet.calibration.spark.find(cause.correction) if sheet else None
    return (sheet, correction) if sheet and correction else None


def _from_sheet(
    statement: Statement,
    cause: Cause,
    sheet: SuppliedSheet,
    correction: Correction,
    inputs: Sequence[Inputs],
) -> DraftedCorrection:
    """The correction as its sheet has it, with what the run has not shown as "?"."""
    update: dict[str, Any] = {"enabled": True}
    if correction.axes and correction.values is not None:
        acts = [
            np.abs(np.nan_to_num(e.values)) > 0.0 for e in entries(statement, cause.entry or "")
        ]
        shown = shown_points(correction, inputs, acts)
        if shown is not None and not shown.all():
            update["values"] = blanked(correction.grid, shown)
    revision = sheet.calibration.revision
    return DraftedCorrection(
        correction.model_copy(update=update),
        cause.certainty,
        f"as revision {revision} has it; {_shown(cause)}",
    )


def _from_log(statement: Statement, cause: Cause, name: str) -> DraftedCorrection:
    rule, sure = cause.rule, share(cause.certainty)
    said = words.rule(rule, words.units(statement)) if rule else cause.says
    more: dict[str, Any] = {
        "title": visible(f"Read out of the log, {sure} sure"),
        "reason": _reason(statement, cause),
    }
    if cause.expected:
        more["expected"] = "read out of the log as the ordinary work of the idle governor"
    carried = _carried(statement, cause)
    if carried is not None or rule is None:
        more["logged_as"] = cause.channel
        low, high = carried or (-45.0, 45.0)
        correction = Correction.model_validate({"id": name, "range": (low, high), **more})
    else:
        correction = as_correction(rule, name, **more)
    remark = f"{said}; {_shown(cause)}"
    if cause.expected:
        remark += "; a governor has memory of its own, which a curve follows only roughly"
    if cause.alternatives:
        remark += f"; {count(len(cause.alternatives), 'other rule')} would fit this log as well"
    return DraftedCorrection(correction, cause.certainty, visible(remark))


def _carried(statement: Statement, cause: Cause) -> tuple[float, float] | None:
    """The span of what a channel carries as it stands, in either sign; None where it does not."""
    curve = cause.rule.along if cause.rule else None
    found = [e for e in entries(statement, cause.entry or "") if e.evidence is Evidence.LOGGED]
    if curve is None or not found or cause.channel != curve.channel or len(curve.at) < 2:
        return None
    slope = (curve.deg[-1] - curve.deg[0]) / (curve.at[-1] - curve.at[0])
    if abs(abs(slope) - 1.0) > 1e-6:
        return None
    values = np.concatenate([e.values[np.isfinite(e.values)] for e in found])
    if values.size == 0:
        return None
    return float(np.floor(min(values.min(), 0.0))), float(np.ceil(max(values.max(), 0.0)))


def _reason(statement: Statement, cause: Cause) -> Reason:
    """The reason that the channels of a rule suggest, `other` where they suggest none."""
    if cause.expected:
        return "idle speed"
    if cause.rule is None:
        return "other"
    names = [str(terms.get("channel", "")) for terms in cause.rule.when]
    if cause.rule.along is not None:
        names.insert(0, cause.rule.along.channel)
    for name in names:
        signal = _signal(statement.logs[0].roles, name)
        if signal in _REASONS:
            return _REASONS[signal]
    return "other"


def _signal(roles: Roles, channel: str) -> str:
    return next((s for s, role in roles.by_signal.items() if role.channel.name == channel), "")


def _shown(cause: Cause) -> str:
    return (
        f"the log shows {degrees(cause.degrees)} on average for {seconds(cause.seconds)}, "
        f"{share(cause.certainty)} sure"
    )
