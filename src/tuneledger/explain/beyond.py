"""Where no sheet fits as it was handed over: the shortest explanation that goes beyond them.

Three ways are tried for the sheets that are least off: what is found beyond the sheet as it is; the
sheet with departures; and the sheet without one of its corrections, for whose rows a rule is then
looked for: a correction with other numbers. A fourth has several sheets run in turn. The shortest
description stands.
"""

from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np

from tuneledger.arrays import BoolArray
from tuneledger.explain.cost import PER_CHANGE
from tuneledger.explain.credit import undue
from tuneledger.explain.eachlog import as_handed_over, look, next_rule
from tuneledger.explain.finding import Finding, cost_within
from tuneledger.explain.looking import look_further
from tuneledger.explain.needless import needless
from tuneledger.explain.opened import OpenedBook
from tuneledger.explain.rewriting import (
    acting_twice,
    apart_from,
    as_it_was,
    off_the_mark,
    resembled,
    without,
    written_apart,
)
from tuneledger.explain.running import misfits
from tuneledger.explain.search import depart
from tuneledger.explain.spans import PER_CHANGE as PER_REVISION
from tuneledger.explain.spans import Stretch, choose_by_time, longest, map_fits
from tuneledger.explain.splice import spliced
from tuneledger.explain.trial import Trial

# Sheets further off than these are not worth departing from.
_MOST_SHEETS = 2
# A rule in the very rows of a correction is that correction with other numbers (see `eachlog`):
# preferred to both acting at once.
_PER_DOUBLE = 10.0
# Another main map than the sheet's: at the least a few cells.
_PER_MAP = 10.0


def beyond_the_sheets(
    opened: Sequence[OpenedBook], trials: Sequence[Sequence[Trial]], best: int
) -> tuple[int, list[Finding]]:
    """The sheet to start from, or that ran longest, and what each log says with it."""
    sheets = range(len(trials[0]))
    off = misfits(trials)
    order = sorted(
        [i for i in sheets if all(log[i].judges for log in trials)] or sheets,
        key=lambda i: (off[i], i != best),
    )
    tried: list[tuple[int, list[Finding]]] = []
    in_turn = choose_by_time([one.book for one in opened], trials)
    if in_turn is not None:
        main = longest(in_turn, [one.book for one in opened])
        tried.append((main, _look_in_turn(opened, trials, in_turn, main)))
    for i in order[:_MOST_SHEETS]:
        tried += [(i, findings) for findings in _looked_for(opened, trials, i)]
    told = [_told(findings) for _, findings in tried]
    both = [np.all([one[n] for one in told], axis=0) for n in range(len(opened))]
    ways = [findings for _, findings in tried]
    costs = [
        _cost(findings, both, trials, i) + undue(findings, ways, both) for i, findings in tried
    ]
    silent = [sum(int((~rows).sum()) for rows in one) for one in told]
    needed = [n for n in range(len(tried)) if not needless(ways[n], ways)]
    best_way = min(needed, key=lambda n: (round(costs[n], 6), silent[n], n))
    return tried[best_way]


def _told(findings: Sequence[Finding]) -> list[BoolArray]:
    """Rows of each log of which an explanation's sheet says anything."""
    return [np.isfinite(finding.base.left) for finding in findings]


def _cost(
    findings: Sequence[Finding],
    rows: Sequence[BoolArray],
    trials: Sequence[Sequence[Trial]],
    sheet: int,
) -> float:
    """The length of an explanation in nats: another map, where scheduled is not what the running
    one says, is part of it.

    rows: those of each log of which every explanation says something: none gains by being silent
    """
    maps = [
        map_fits(finding.stretches, log, sheet)
        for finding, log in zip(findings, trials, strict=True)
    ]
    costs = [cost_within(finding, here) for finding, here in zip(findings, rows, strict=True)]
    doubled = sum(map(acting_twice, findings))
    again = PER_CHANGE * written_apart(findings)
    return sum(costs) + _PER_MAP * maps.count(False) + _PER_DOUBLE * doubled + again


def _looked_for(
    opened: Sequence[OpenedBook], trials: Sequence[Sequence[Trial]], sheet: int
) -> Iterator[list[Finding]]:
    """What is found beyond a sheet with its departures, as it is, and without a correction that is
    off the mark; nothing more where one of them leaves nothing to be found."""
    departed = [
        depart(one.book, log[sheet], one.laid) for one, log in zip(opened, trials, strict=True)
    ]
    ways = [departed]
    if any(d.departures for d in departed):
        ways.append([as_handed_over(log[sheet]) for log in trials])
    if any(part.missing for log in trials for part in log[sheet].account.parts):
        ways.reverse()  # what it lacks may be all that is left over, and then nothing departs
    told: list[list[Finding]] = []
    for accounts in ways:
        told.append(look(opened, trials, sheet, accounts))
        yield told[-1]
        if all(f.settled and all(e.drifts for e in f.extras) for f in told[-1]):
            return
    off = off_the_mark([log[sheet].account for log in trials])
    for name in dict.fromkeys((*off, *resembled(told, trials, sheet))):
        if any(apart_from(name, findings, trials, sheet) for findings in told):
            continue
        accounts = [
            without(one.book, log[sheet], one.laid, name)
            for one, log in zip(opened, trials, strict=True)
        ]
        found = look(opened, trials, sheet, accounts)
        # As it was, it is not written anew, unless its edges lie elsewhere, which saves much.
        saved = min(map(_length, told)) - _length(found)
        if saved > PER_CHANGE or not as_it_was(name, found, trials, sheet):
            yield found


def _length(findings: Sequence[Finding]) -> float:
    return sum(finding.cost for finding in findings)


def _look_in_turn(
    opened: Sequence[OpenedBook],
    trials: Sequence[Sequence[Trial]],
    in_turn: Sequence[Sequence[Stretch]],
    main: int,
) -> list[Finding]:
    """What is found beyond sheets that ran one after another."""
    findings: list[Finding] = []
    for one, log, stretches in zip(opened, trials, in_turn, strict=True):
        found = look_further(
            one.book,
            spliced(log, stretches, main),
            one.laid,
            log[main],
            rules_from=next_rule(findings),
            departures_cost=PER_REVISION * (len(stretches) - 1),
        )
        findings.append(replace(found, stretches=tuple(stretches)))
    return findings
