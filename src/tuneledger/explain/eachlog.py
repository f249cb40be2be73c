"""What is found beyond one sheet's accounts, log by log; rules are numbered over all of them."""

from collections.abc import Sequence
from dataclasses import replace

from tuneledger.explain.cost import PER_CHANGE
from tuneledger.explain.finding import Finding
from tuneledger.explain.looking import look_further
from tuneledger.explain.opened import OpenedBook
from tuneledger.explain.search import Departed
from tuneledger.explain.trial import Trial

# A correction with other numbers, found as a rule in its very rows: preferred to one beside it.
_PER_REWRITE = -1.0


def as_handed_over(trial: Trial) -> Departed:
    """The trial's account as one without departures."""
    return Departed(trial.account, (), 0.0)


def look(
    opened: Sequence[OpenedBook],
    trials: Sequence[Sequence[Trial]],
    sheet: int,
    accounts: Sequence[Departed],
) -> list[Finding]:
    """What is found beyond each log's account."""
    findings: list[Finding] = []
    for one, log, departed in zip(opened, trials, accounts, strict=True):
        rewritten = [d.correction for d in departed.departures if d.what == "rewritten"]
        changes = len(departed.departures) - len(rewritten)
        found = look_further(
            one.book,
            departed.account,
            one.laid,
            log[sheet],
            rules_from=next_rule(findings),
            departures_cost=PER_CHANGE * changes + _PER_REWRITE * len(rewritten),
        )
        found = replace(found, departures=departed.departures)
        if rewritten:
            from tuneledger.explain.rewriting import named_after

            found = named_after(found, log[sheet], rewritten)
        findings.append(found)
    return findings


def next_rule(findings: Sequence[Finding]) -> int:
    """The number of the next rule over all logs so far."""
    return 1 + sum(extra.values is not None for f in findings for extra in f.extras)
