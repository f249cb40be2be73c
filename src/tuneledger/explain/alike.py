"""One name for one thing, in however many logs of a car it was found."""

from collections.abc import Iterator, Sequence
from dataclasses import replace

from tuneledger.explain.account import OTHER_MAP
from tuneledger.explain.finding import Finding, posted_anew
from tuneledger.explain.leftover.model import Extra


def named_alike(findings: Sequence[Finding]) -> list[Finding]:
    """One entry name for one thing, counted over all logs in their order."""
    names: dict[str, str] = {}
    for extra in posting_extras(findings):
        assert extra.entry is not None
        key = alike(extra)
        if key not in names and extra.entry.startswith("rule-"):
            names[key] = f"rule-{1 + sum(n.startswith('rule-') for n in names.values())}"
        names.setdefault(key, extra.entry)
    return [
        posted_anew(
            finding,
            [e if e.entry is None else replace(e, entry=names[alike(e)]) for e in finding.extras],
        )
        for finding in findings
    ]


def posting_extras(findings: Sequence[Finding]) -> Iterator[Extra]:
    """All that posts an entry, log after log."""
    for finding in findings:
        yield from (extra for extra in finding.extras if extra.entry is not None)


def alike(extra: Extra) -> str:
    """What two logs' extras have in common where they are one thing."""
    if extra.entry == OTHER_MAP:
        return OTHER_MAP
    if extra.expected is not None:
        return f"expected {extra.expected} {extra.correction}"
    if extra.channel is not None:
        return f"channel {extra.channel}"
    if extra.rule is not None:
        return f"rule {extra.correction} {extra.rule!r}"
    return f"{extra.kind} {extra.correction} {extra.name}"
