"""A second log that calls a channel otherwise than the first: found by what both are read as."""

from collections.abc import Mapping

from tuneledger.arrays import FloatArray
from tuneledger.roles.inputs import LogInputs
from tuneledger.roles.model import Role
from tuneledger.statement.model import LogAccount, Statement

_SURE = 0.8  # of a role, on both sides: the certainty that a cause needs to count as explained


def roles_by_name(before: Statement) -> dict[str, Role]:
    """Channel name, in small letters → what the first logs read it as, where that is sure."""
    return {
        role.channel.name.casefold(): role
        for account in reversed(before.logs)
        for role in account.roles.by_signal.values()
        if role.certainty >= _SURE and role.relabelled != "sign"
    }


class RenamedInputs(LogInputs):
    """A second log's inputs, which also answer to the names that channels had in the first.

    The numbers are in the unit in which the first log's channel was read.
    """

    def __init__(self, account: LogAccount, times: FloatArray, first: Mapping[str, Role]) -> None:
        super().__init__(account.log, account.roles, times)
        self._account, self._first = account, first

    def channel(self, name: str, unit: str | None) -> FloatArray | None:
        """As its own, else the channel that is read as the same signal."""
        own = super().channel(name, unit)
        then = self._first.get(name.casefold())
        if own is not None or then is None or self.other_name(name) is None:
            return own
        return self.signal(then.signal, unit or then.unit)

    def other_name(self, name: str) -> str | None:
        """What this log calls a channel of the first; None where the same, or not sure."""
        then = self._first.get(name.casefold())
        now = self._account.roles.get(then.signal) if then else None
        if now is None or now.certainty < _SURE or self._account.log.find(name) is not None:
            return None
        return now.channel.name
