"""Corrections that the sheet says should have acted, and that the log shows did not.

Nothing is missing from delivered then, and the car may drive as asked; but the ECU is not running
that sheet, and if the correction protects something, it does not. That holds too where another
supplied revision, which lacks the correction or has it off, accounts for the log.
"""

from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np

from tuneledger.arrays import BoolArray
from tuneledger.explain import nextstep, says
from tuneledger.explain.account import LIMIT, OTHER_MAP
from tuneledger.explain.credit import suspected
from tuneledger.explain.finding import Finding
from tuneledger.explain.included import EITHER
from tuneledger.explain.model import Cause, Kind, Point
from tuneledger.explain.sheets import LaidSheet, label
from tuneledger.explain.told import Told
from tuneledger.ledger.episodes import episode, merged, rows_of, true_runs
from tuneledger.ledger.model import Entry, Episode
from tuneledger.record import record

_CERTAINTY = 0.9  # of silence seen again and again: judgement
# So many more rows halve the doubt.
_HALVED_BY = 3.0
_EDGE_ROWS = 3  # rows by which what it reads may be logged early or late, judgement


@record(eq=False)
class Silent:
    """What a sheet posts and the ECU did not: the sheet, its entry, and the rows."""

    sheet: LaidSheet
    entry: Entry
    rows: BoolArray


def silent_entries(finding: Finding) -> list[Silent]:
    """What the chosen sheet, or the first where another was chosen, posts and the log lacks.

    Where something is suspected that nobody can compute, a log lacks nothing for sure.
    """
    found = [*_of_chosen(finding), *_of_first(finding)]
    shown = ~suspected(finding)
    return [replace(one, rows=one.rows & shown) for one in found if (one.rows & shown).any()]


def _of_chosen(finding: Finding) -> Iterator[Silent]:
    """What the chosen sheet posts and the chosen account does not."""
    if finding.trial is None:
        return
    names = {d.correction for d in finding.departures if d.what == "off"}
    for entry in finding.trial.account.ledger.entries:
        if entry.correction in names:
            yield Silent(finding.trial.sheet, entry, _should_act(finding, entry))


def _of_first(finding: Finding) -> Iterator[Silent]:
    """What the first sheet posts where it is off, and the one that ran instead does not.

    Where anything unexpected acts as well, that is the finding already; and what acts in one part
    of the log and not in another is told as the change of revision that it is.
    """
    if finding.first is None:
        return
    account = finding.first.account
    off = rows_of(account.runs, finding.book.times.size) & _only_expected(finding)
    for entry in account.ledger.entries:
        if entry.correction == OTHER_MAP or _acts(finding, entry):
            continue
        rows = off & _should_act(finding, entry)
        for posted in finding.ledger.entries:
            if posted.correction == entry.correction:
                rows = rows & ~_beside(_should_act(finding, posted))
        yield Silent(finding.first.sheet, entry, rows)


def _acts(finding: Finding, entry: Entry) -> bool:
    """Whether the log shows the sheet's own entry at work, in a part where that sheet ran."""
    return any(
        (one.correction, one.file) == (entry.correction, entry.file)
        and bool(_should_act(finding, one).any())
        for one in finding.ledger.entries
    )


def _beside(rows: BoolArray) -> BoolArray:
    """The rows and a few around each: two versions of one edge may fall between them."""
    out = rows.copy()
    for distance in range(1, _EDGE_ROWS + 1):
        out[distance:] |= rows[:-distance]
        out[:-distance] |= rows[distance:]
    return out


def _only_expected(finding: Finding) -> BoolArray:
    out = np.ones(finding.book.times.shape, dtype=np.bool_)
    for entry in finding.ledger.entries:
        if entry.expected is None:
            out &= ~_should_act(finding, entry)
    return out


@record(eq=False)
class Silence:
    """A correction that stayed silent, in however many logs: the cause, and its stretches."""

    cause: Cause
    episodes: tuple[Episode, ...]


def silences(findings: Sequence[Finding]) -> list[Silence]:
    """One per correction that stayed silent, and sheet that has it so."""
    grouped: dict[tuple[str, str], list[tuple[int, Finding, Silent]]] = {}
    for number, finding in enumerate(findings):
        for one in silent_entries(finding):
            key = (one.sheet.file, one.entry.correction)
            grouped.setdefault(key, []).append((number, finding, one))
    return [
        Silence(_cause([(finding, one) for _, finding, one in where]), tuple(_episodes(where)))
        for where in grouped.values()
    ]


def _episodes(where: Sequence[tuple[int, Finding, Silent]]) -> Iterator[Episode]:
    """The stretches in which it should have acted."""
    for number, finding, one in where:
        for run in merged(true_runs(one.rows), finding.book.times, finding.book.row_s):
            yield episode(finding.ledger, run, log=number, regimes=finding.book.regimes)


def _should_act(finding: Finding, entry: Entry) -> BoolArray:
    size = np.abs(np.nan_to_num(entry.values))
    return np.asarray(finding.book.judged & (size > finding.book.tolerance))


def _cause(where: Sequence[tuple[Finding, Silent]]) -> Cause:
    finding, one = where[0]
    sheet, entry = one.sheet, one.entry
    correction = sheet.correction(entry.correction)
    kind: Kind = "limit" if entry.correction == LIMIT else "correction"
    values = np.concatenate([silent.entry.values[silent.rows] for _, silent in where])
    certainty = _CERTAINTY * (1.0 - 0.5 ** (values.size / _HALVED_BY))
    if sheet.inside is not None and entry.correction in sheet.inside.corrections:
        certainty = min(certainty, EITHER)
    degrees, lasted = float(values.mean()), sum(_seconds(*each) for each in where)
    told = Told(
        kind=kind,
        name=correction.called if correction else says.ENTRY_NAMES[entry.correction],
        degrees=degrees,
        seconds=lasted,
        peak=degrees,
        revision=label(sheet, finding.laid),
        reason=correction.reason if correction else None,
    )
    return Cause(
        rank=0,
        kind=kind,
        correction=correction.id if correction else None,
        revision=sheet.revision,
        channel=None,
        degrees=-degrees,
        seconds=lasted,
        certainty=round(certainty, 2),
        expected=False,
        says=says.silent(told),
        next_step=nextstep.silent_next(told),
        evidence=(Point("for", "delivered follows scheduled where it should have acted"),),
        file=sheet.file,
    )


def _seconds(finding: Finding, one: Silent) -> float:
    share = max(float(finding.book.own.mean()), 1e-9)
    return float(one.rows.sum()) * finding.book.row_s / share
