"""Channels of a case's logs: how each was read, as a form to put it right, and its own samples."""

from collections.abc import Sequence
from typing import Any

from tuneledger.errors import Fault, UsageError
from tuneledger.pages.channels import channel_data
from tuneledger.pages.names import name_of, text_of
from tuneledger.pages.pack import Packer
from tuneledger.pages.tag import Markup, tag
from tuneledger.roles import RolesFile
from tuneledger.roles.model import Role, Roles
from tuneledger.signals import SIGNALS
from tuneledger.statement.model import LogAccount, Statement
from tuneledger.wording import share, unit_words

_SURE = 0.8
_ALWAYS = ("scheduled advance", "delivered advance", "engine speed", "throttle position")


def channels_of(account: LogAccount, statement: Statement, told: RolesFile, index: int) -> Markup:
    """How the channels of one log were read, each to be put right.

    told: what somebody said of them already
    """
    several = len(statement.logs) > 1
    log, roles = account.log, account.roles
    found = list(roles.by_signal.values())
    asked = list(dict.fromkeys([*_ALWAYS, *(doubt.signal for doubt in roles.doubts)]))
    rows = [_role(role, index) for role in found if role.signal != "time"]
    rows += [_missing(signal, roles, index) for signal in asked if roles.get(signal) is None]
    playing = {role.channel.name for role in found}
    rows += [
        _told_unit(name, unit)
        for name, unit in told.units.items()
        if name not in playing and log.find(name) is not None
    ]
    others = [s for s in SIGNALS if s != "time" and roles.get(s) is None and s not in asked]
    rows += [_another(others, index)] if others else []
    names = (tag("option", value=name_of(channel.name)) for channel in log.channels)
    title = "How the channels were read"
    if several:
        title += f": {name_of(log.file)}"
    heads = ("Signal", "Channel", "Read in", "Certainty", "Because of")
    head = tag("thead", tag("tr", *(tag("th", text, scope="col") for text in heads)))
    table = tag("table", head, tag("tbody", *rows), cls="roles")
    unsure = bool(roles.doubts) or any(role.certainty < _SURE for role in found)
    return tag(
        "details",
        tag("summary", title),
        tag(
            "p",
            "Put another channel in its place, or another unit, and the statement is drawn up "
            "anew. An empty field lets the tool decide.",
            cls="explains",
        ),
        tag("div", table, cls="wide"),
        tag("datalist", *names, id=f"channels-{index}"),
        cls="channels",
        open=unsure or bool(told.roles or told.units),
    )


def channel_of(statement: Statement | None, log: str, name: str) -> dict[str, Any]:
    """A channel as a page carries it, with the times and samples of its own.

    log, name: the log's index, and the channel's name as a page shows it
    Raises UsageError where there is no such channel.
    """
    logs = statement.logs if statement else ()
    books = {str(number): one for number, one in enumerate(logs)}.get(log)
    channels = books.log.channels if books else ()
    channel = next((c for c in channels if name_of(c.name) == name), None)
    if books is None or channel is None:
        raise UsageError(Fault(f"there is no channel '{name_of(name)}' here"))
    packer = Packer()
    times = packer.add(books.log.times(channel))
    data = channel_data(channel, books, 0, packer)
    return {"channel": data, "times": times, "samples": packer.base64()}


def _role(role: Role, index: int) -> Markup:
    return tag(
        "tr",
        tag("th", role.signal, scope="row"),
        tag("td", _pick(role.signal, role.channel.name, index)),
        tag("td", _unit(role.channel.name, unit_words(role.unit))),
        tag("td", share(role.certainty)),
        tag("td", text_of("; ".join(role.why))),
    )


def _missing(signal: str, roles: Roles, index: int) -> Markup:
    doubt = next((doubt for doubt in roles.doubts if doubt.signal == signal), None)
    perhaps = [f"{name_of(c.name)} ({share(s)})" for c, s in doubt.candidates[:3]] if doubt else []
    why = (
        f"not sure: {', '.join(perhaps)}; {doubt.why}" if doubt and perhaps else "no channel found"
    )
    return tag(
        "tr",
        tag("th", signal, scope="row"),
        tag("td", _pick(signal, "", index)),
        tag("td"),
        tag("td"),
        tag("td", text_of(why)),
    )


def _told_unit(name: str, unit: str) -> Markup:
    """A channel whose unit was told, and which is then no signal: so that it can be taken back."""
    return tag(
        "tr",
        tag("th", "none", scope="row"),
        tag("td", name_of(name)),
        tag("td", _unit(name, unit)),
        tag("td"),
        tag("td", "you said its unit; read in it, it looks like no signal"),
    )


def _another(signals: Sequence[str], index: int) -> Markup:
    """A signal that no channel was found for, and that the reader knows one for."""
    options = (tag("option", signal, value=signal) for signal in signals)
    return tag(
        "tr",
        tag("th", tag("select", *options, aria_label="Another signal"), scope="row"),
        tag("td", _pick("", "", index)),
        tag("td"),
        tag("td"),
        tag("td", "no channel found for these; name one where you know it"),
    )


def _pick(signal: str, channel: str, index: int) -> Markup:
    return tag(
        "input",
        type="text",
        list=f"channels-{index}",
        value=name_of(channel),
        data_signal=signal,
        data_was=name_of(channel),
        autocomplete="off",
        aria_label=f"Channel that is the {signal or 'signal chosen beside it'}",
    )


def _unit(channel: str, shown: str) -> Markup:
    return tag(
        "input",
        type="text",
        size="6",
        value=shown,
        data_channel=name_of(channel),
        data_was=shown,
        maxlength="40",
        autocomplete="off",
        aria_label=f"Unit of {name_of(channel)}",
    )
