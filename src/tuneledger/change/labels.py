"""What became of a channel that was not what its label says: the label decides, not the drive."""

from tuneledger.change.proof import Proven
from tuneledger.explain.model import Cause
from tuneledger.roles.model import Role
from tuneledger.statement.model import Statement

KINDS = ("sign", "unit")


def relabelled(cause: Cause, after: Statement) -> Proven:
    """Whether the channel is what its label says in the second drive's logs."""
    name = cause.channel or ""
    found = [
        role
        for account in after.logs
        for role in account.roles.by_signal.values()
        if role.channel.name.casefold() == name.casefold()
    ]
    now = next(
        (c for c in after.causes if (c.kind, c.channel) == (cause.kind, cause.channel)), None
    )
    thing = "its sign" if cause.kind == "sign" else "its unit"
    if any(role.relabelled == cause.kind for role in found):
        says = f"The channel {name} is still written against {thing}."
        return Proven(cause, "remains", 1.0, says, now)
    if _as_it_says(found):
        return Proven(cause, "gone", 1.0, f"The channel {name} now is what its label says.")
    why = f"the second log does not carry {name}"
    says = f"The channel {name} was written against {thing}; {why}: nothing is shown of it."
    return Proven(cause, "not shown", 0.0, says, None, why)


def _as_it_says(found: list[Role]) -> bool:
    return bool(found) and all(role.relabelled is None for role in found)
