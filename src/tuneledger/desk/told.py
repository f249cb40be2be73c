"""What a reader says of a case's channels, turned into roles that a log can be held against."""

from collections.abc import Mapping
from typing import Any

from tuneledger.errors import Fault, RolesError
from tuneledger.logs.model import Channel
from tuneledger.pages.names import name_of
from tuneledger.roles import RolesFile, forget, recall, remember
from tuneledger.signals import SIGNALS
from tuneledger.statement.model import Statement
from tuneledger.units import parse_unit


def told_of(statement: Statement, before: RolesFile, given: Any) -> RolesFile:
    """What was told before, with one more answer in it.

    given: `{"signal", "channel"}` or `{"channel", "unit"}`, the channel as the page shows it; an
    empty channel or unit takes an answer back
    Raises RolesError where there is no such signal, channel or unit.
    """
    if not isinstance(given, dict):
        raise RolesError(Fault("this says nothing of a channel"))
    words = {key: given[key].strip() for key in given if isinstance(given[key], str)}
    roles, units = dict(before.roles), dict(before.units)
    if "unit" in words:
        _put(units, _channel(statement, words.get("channel", "")).name, _unit(words["unit"]))
    else:
        signal = words.get("signal", "")
        if signal not in SIGNALS or signal == "time":
            raise RolesError(Fault(f"'{name_of(signal)}' is no signal that a channel can be"))
        shown = words.get("channel", "")
        _put(roles, signal, _channel(statement, shown).name if shown else "")
        _once(roles, signal)
    return RolesFile(roles, units)


def takes_back(given: Mapping[str, Any]) -> bool:
    """Whether it is no answer but takes one back."""
    return not str(given.get("unit", given.get("channel", ""))).strip()


def forget_answer(statement: Statement, given: Mapping[str, Any]) -> None:
    """Forget what was told of a signal or a unit earlier, of this log or one with its header."""
    gone = str(given.get("signal") or given.get("channel", ""))
    for account in statement.logs:
        earlier = recall(account.log)
        if earlier is None:
            continue
        forget(account.log)
        kept = RolesFile(
            {signal: name for signal, name in earlier.roles.items() if signal != gone},
            {name: unit for name, unit in earlier.units.items() if name_of(name) != gone},
        )
        remember(account.log, kept)


def _put(answers: dict[str, str], key: str, value: str) -> None:
    if value:
        answers[key] = value
    else:
        answers.pop(key, None)


def _once(roles: dict[str, str], signal: str) -> None:
    """A channel is one signal: what was said of it before no longer holds."""
    channel = roles.get(signal)
    for other in [name for name, taken in roles.items() if taken == channel and name != signal]:
        del roles[other]


def _channel(statement: Statement, shown: str) -> Channel:
    """The channel that a page calls so; names are shown cut short and with their signs spelled."""
    for account in statement.logs:
        found = account.log.find(shown)
        if found is not None:
            return found
        for channel in account.log.channels:
            if name_of(channel.name) == shown:
                return channel
    raise RolesError(
        Fault(
            f"no log here has a channel '{name_of(shown)}'",
            do="Choose a name from the list that opens under the field.",
        )
    )


def _unit(text: str) -> str:
    if text and parse_unit(text) is None:
        raise RolesError(
            Fault(f"'{name_of(text)}' is no unit that is known here", expected="kPa, psi, °F, …")
        )
    return text
