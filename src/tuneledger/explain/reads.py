"""Which channels of a log a correction of a sheet reads, and which a rule does."""

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from tuneledger.calibrations.model import Correction, readings
from tuneledger.explain.model import Rule
from tuneledger.ledger.book import Book


def read_by(book: Book, correction: Correction | None) -> set[str]:
    """The log channels that a correction reads, in its table or its conditions."""
    names: set[str] = set()
    for reading in readings(correction) if correction is not None else ():
        for name in (reading.signal, reading.channel, reading.minus, reading.over):
            role = book.roles.get(name) if name else None
            channel = role.channel if role else book.log.find(name or "")
            if channel is not None:
                names.add(channel.name)
    return names


def read_by_rule(rule: Rule) -> set[str]:
    """The log channels that a rule reads."""
    names = {str(one["channel"]) for one in conditions(rule.when) if "channel" in one}
    return names | ({rule.along.channel} if rule.along is not None else set())


def conditions(when: Sequence[Mapping[str, Any]]) -> Iterator[Mapping[str, Any]]:
    """Every condition of a rule, those inside `since` and `any` too."""
    for one in when:
        yield one
        if "since" in one:
            yield from conditions([one["since"]])
        yield from conditions(one.get("any", ()))
