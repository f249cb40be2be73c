"""The statement for machines: the contract's keys in the contract's order, nothing else.

Degrees are rounded to 0.01, seconds to 0.001 or to a tenth of a sample where a log is faster.
What nobody knows is null, never NaN. Numbers of a rule keep six digits, so that the rule still
says the same when it is carried out on another log.
"""

import math
import re
from collections.abc import Iterable, Mapping
from json import dumps
from typing import Any

from tuneledger.explain.model import Cause, Cell, Rule, Running
from tuneledger.ledger.model import Episode
from tuneledger.roles.model import Roles
from tuneledger.statement import words
from tuneledger.statement.model import FORMAT, LogAccount, Statement

WIDTH = 100
# Codes that steer a terminal, turn the reading direction or show as nothing; JSON may carry each
# of them escaped.
_STEERING = re.compile(
    "[\x7f-\x9f\xad\u061c\u180e\u200b\u200e\u200f\u2028-\u202e\u2060-\u206f\ufeff]"
)


def as_json(statement: Statement) -> dict[str, Any]:
    """The statement as plain values, ready to be written: CONTRACT section 3, key for key.

    `roles` are those of the first log, with signals that only a later log carries added; a later
    log that reads another channel for a signal has `roles` of its own.
    """
    logs = statement.logs
    roles = _roles([account.roles for account in logs])
    places = [_places(account) for account in logs]
    running = statement.running
    return {
        "format": FORMAT,
        "logs": [_log(account, roles) for account in logs],
        "roles": roles,
        "tolerance_deg": rounded(statement.tolerance_deg, 4),
        "verdict": statement.verdict,
        "headline": statement.headline,
        "running": _running(running, places) if running else None,
        "episodes": [_episode(e, places[e.log]) for e in statement.episodes],
        "causes": [as_cause(cause) for cause in statement.causes],
        "notes": [*statement.notes, *words.loading(statement)],
        "needs": [{"what": need.what, "why": need.why} for need in statement.needs],
    }


def json_text(value: Any) -> str:
    """JSON as text: short lists and objects stay on one line, like in the contract's example.

    The text is safe to print: control and direction codes out of strangers' files stay escaped.
    """
    text = _layout(value, 0)
    return _STEERING.sub(lambda found: f"\\u{ord(found[0]):04x}", text) + "\n"


def _log(account: LogAccount, shared: Mapping[str, Any]) -> dict[str, Any]:
    log = account.log
    out: dict[str, Any] = {
        "file": log.file,
        "duration_s": rounded(log.duration_s, 3),
        "samples": log.samples,
        "rate_hz": significant(log.rate_hz, 5),
    }
    own = _roles([account.roles])
    if any(shared[signal] != role for signal, role in own.items()):
        out["roles"] = own
    return out


def _roles(all_roles: Iterable[Roles]) -> dict[str, Any]:
    out: dict[str, Any] = {}
    for roles in all_roles:
        for signal, role in roles.by_signal.items():
            if signal not in out:
                out[signal] = {
                    "channel": role.channel.name,
                    "unit": role.unit,
                    "certainty": _certainty(role.certainty),
                }
    return out


def _running(running: Running, places: list[int]) -> dict[str, Any]:
    return {
        "supplied": running.supplied,
        "best": running.best,
        "matches_supplied": bool(running.matches_supplied),
        "certainty": _certainty(running.certainty),
        "ranking": [
            {"revision": r.revision, "file": r.file, "misfit_deg": rounded(r.misfit_deg, 3)}
            for r in running.ranking
        ],
        "spans": [
            {
                "log": span.log,
                "start_s": rounded(span.start_s, places[span.log]),
                "end_s": rounded(span.end_s, places[span.log]),
                "revision": span.revision,
            }
            for span in running.spans
        ],
    }


def _episode(episode: Episode, places: int) -> dict[str, Any]:
    return {
        "log": episode.log,
        "start_s": rounded(episode.start_s, places),
        "end_s": rounded(episode.end_s, places),
        "about": episode.about,
        "regime": episode.regime,
        **_regimes(episode),
        "scheduled_deg": rounded(episode.scheduled_deg, 2),
        "delivered_deg": rounded(episode.delivered_deg, 2),
        "difference_deg": rounded(episode.difference_deg, 2),
        "unaccounted_deg": rounded(episode.unaccounted_deg, 2),
        "expected": bool(episode.expected),
        "entries": [
            {
                "correction": entry.correction,
                "deg": rounded(entry.deg, 2),
                "evidence": str(entry.evidence),
                "channel": entry.channel,
                "revision": entry.revision,
            }
            for entry in episode.entries
        ],
    }


def _regimes(episode: Episode) -> dict[str, Any]:
    if len(episode.by_regime) == 1:
        return {}
    return {"regimes": {part.regime: rounded(part.share, 2) for part in episode.by_regime}}


def as_cause(cause: Cause) -> dict[str, Any]:
    """A cause in the contract's keys, degrees to hundredths, seconds to thousandths."""
    out: dict[str, Any] = {
        "rank": cause.rank,
        "kind": cause.kind,
        "correction": cause.correction,
        "revision": cause.revision,
        "channel": cause.channel,
        "degrees": rounded(cause.degrees, 2),
        "seconds": rounded(cause.seconds, 3),
        "certainty": _certainty(cause.certainty),
        "expected": bool(cause.expected),
    }
    if cause.rule is not None and _has_numbers(cause.rule):
        out["rule"] = as_rule(cause.rule)
    out["alternatives"] = [as_rule(rule) for rule in cause.alternatives if _has_numbers(rule)]
    if cause.cells:
        out["cells"] = [_cell(cell) for cell in cause.cells]
    return out | {"says": cause.says, "next_step": cause.next_step}


def _has_numbers(rule: Rule) -> bool:
    """Whether the contract's form can say it: a held advance beside which more acts has none."""
    return rule.along is not None or rule.amount_deg is not None


def as_rule(rule: Rule) -> dict[str, Any]:
    """A rule in the contract's form: `when`, then `amount_deg` or `along`, then `ramp`."""
    out: dict[str, Any] = {"when": [_plain(terms) for terms in rule.when]}
    if rule.along is not None:
        out["along"] = {
            "channel": rule.along.channel,
            "at": [significant(x) for x in rule.along.at],
            "deg": [rounded(x, 3) for x in rule.along.deg],
        }
    else:
        out["amount_deg"] = rounded(rule.amount_deg, 3)
    if rule.ramp is not None:
        out["ramp"] = _plain(rule.ramp)
    return out


def _cell(cell: Cell) -> dict[str, Any]:
    return {
        "at": [significant(x) for x in cell.at],
        "difference_deg": rounded(cell.difference_deg, 2),
        "seconds": rounded(cell.seconds, 3),
    }


def _places(account: LogAccount) -> int:
    """Decimals of a time in this log: 3, or enough for a tenth of its sample step."""
    rate = account.log.rate_hz
    return 3 if rate <= 100 else math.ceil(math.log10(rate)) + 1


def _certainty(value: float) -> float | None:
    """Three decimals, rounded down: 0.7996 must not look like a cause that reached 0.8."""
    return math.floor(value * 1000 + 1e-6) / 1000 if math.isfinite(value) else None


def rounded(value: float | None, places: int) -> float | None:
    """Rounded, without a negative zero; null for what is unknown."""
    if value is None or not math.isfinite(value):
        return None
    return round(float(value), places) + 0.0


def significant(value: float, digits: int = 6) -> float | None:
    """Rounded to so many significant digits; null for what is unknown."""
    if not math.isfinite(value):
        return None
    return float(f"{float(value):.{digits}g}") + 0.0


def _plain(value: Any) -> Any:
    """Plain JSON values out of a condition, whatever number type it was made with."""
    if isinstance(value, Mapping):
        return {str(key): _plain(item) for key, item in value.items()}
    if isinstance(value, list | tuple):
        return [_plain(item) for item in value]
    if hasattr(value, "item"):  # a NumPy number
        value = value.item()
    return significant(value) if isinstance(value, float) else value


def _layout(value: Any, indent: int) -> str:
    line = dumps(value, ensure_ascii=False, allow_nan=False)
    if not isinstance(value, dict | list) or (indent and len(line) + indent < WIDTH):
        return line
    if not value:
        return line
    inner = " " * (indent + 2)
    if isinstance(value, dict):
        rows = [
            f"{inner}{dumps(key, ensure_ascii=False)}: {_layout(item, indent + 2)}"
            for key, item in value.items()
        ]
        return "{\n" + ",\n".join(rows) + "\n" + " " * indent + "}"
    rows = [inner + _layout(item, indent + 2) for item in value]
    return "[\n" + ",\n".join(rows) + "\n" + " " * indent + "]"
