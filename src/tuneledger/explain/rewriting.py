"""A correction of a sheet with other numbers: left out, a rule read in its place, and named so."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from tuneledger.arrays import BoolArray
from tuneledger.calibrations.model import Correction
from tuneledger.explain.account import Account, carry_out
from tuneledger.explain.finding import Finding
from tuneledger.explain.leftover.model import Extra
from tuneledger.explain.model import Rule
from tuneledger.explain.reads import read_by, read_by_rule
from tuneledger.explain.search import Departed, Departure
from tuneledger.explain.sheets import LaidSheet
from tuneledger.explain.trial import Trial
from tuneledger.ledger.book import Book
from tuneledger.ledger.episodes import rows_of

_MOST_REWRITTEN = 2  # more at once fits anything, judgement
# What is left over lies in the correction's own rows, or within this many rows of them.
_BESIDE_ROWS = 25
_OVERLAP = 0.3  # of the rows in which it acts: less is chance, judgement
# What posts within tolerance what it was, in so much of its rows, is not written anew.
_AS_IT_WAS = 0.9


def off_the_mark(accounts: Sequence[Account]) -> list[str]:
    """Added corrections that act where, or just beside where, something is left over."""
    shares: dict[str, float] = {}
    for account in accounts:
        wrong = _widened(rows_of(account.runs, account.left.size))
        kinds = {part.correction: part.effect for part in account.parts}
        for entry in account.ledger.entries:
            acts = np.abs(entry.values) > account.ledger.tolerance
            if kinds.get(entry.correction) == "add" and acts.any():
                share = float(wrong[acts].mean())
                shares[entry.correction] = max(share, shares.get(entry.correction, 0.0))
    chosen = sorted((name for name in shares if shares[name] >= _OVERLAP), key=lambda n: -shares[n])
    return chosen[:_MOST_REWRITTEN]


def resembled(
    told: Sequence[Sequence[Finding]], trials: Sequence[Sequence[Trial]], sheet: int
) -> list[str]:
    """Added corrections of one amount that some rule found beside them looks like: by as much, and
    on a channel that it reads. With another threshold it acts where it should not, or the other
    way round, be it far from where the sheet has it act."""
    names: dict[str, None] = {}
    for findings in told:
        for finding, log in zip(findings, trials, strict=True):
            for correction in log[sheet].sheet.calibration.spark.correction:
                if any(_looks_like(extra, correction, finding.book) for extra in finding.extras):
                    names[correction.id] = None
    return list(names)[:_MOST_REWRITTEN]


def _looks_like(extra: Extra, correction: Correction, book: Book) -> bool:
    rule, by = extra.rule, correction.amount
    if rule is None or rule.amount_deg is None or by is None or correction.effect != "add":
        return False
    near = abs(abs(rule.amount_deg) - abs(by)) <= 2 * book.tolerance
    return correction.enabled and near and bool(read_by_rule(rule) & read_by(book, correction))


def _widened(rows: BoolArray) -> BoolArray:
    counts = np.convolve(rows.astype(np.float64), np.ones(2 * _BESIDE_ROWS + 1), mode="same")
    return np.asarray(counts > 0.5)


def without(book: Book, trial: Trial, laid: Sequence[LaidSheet], name: str) -> Departed:
    """The account of a sheet as it was handed over, but for one correction."""
    before = trial.account
    account = carry_out(
        book,
        trial.sheet,
        [part for part in before.parts if part.correction != name],
        first=laid[0],
        channels={k: v for k, v in before.channels.items() if k != name},
        expected={e.correction: e.expected for e in before.ledger.entries if e.expected},
    )
    return Departed(account, (Departure(name, "rewritten", trial.sheet.revision),), 0.0)


def named_after(found: Finding, trial: Trial, rewritten: Sequence[str]) -> Finding:
    """The finding with a rule named after the correction that it writes anew.

    A rule that acts in the same rows but reads something else is another thing: the correction
    then simply stayed silent.
    """
    for name in rewritten:
        correction = trial.sheet.correction(name)
        rows = np.abs(trial.sheet.parts[name].values) > found.book.tolerance
        extras = tuple(
            replace(extra, correction=name)
            if _is_anew(extra, correction, rows, found.book)
            else extra
            for extra in found.extras
        )
        what = "rewritten" if any(e.correction == name for e in extras) else "off"
        departures = tuple(
            replace(d, what=what) if d.correction == name else d for d in found.departures
        )
        found = replace(found, extras=extras, departures=departures)
    return found


def _is_anew(extra: Extra, correction: Correction | None, rows: BoolArray, book: Book) -> bool:
    """Whether a rule is a correction with other numbers: it acts in much of the same rows and reads
    some of the same; where the correction never acts here, by as much, and reads just the same."""
    if extra.rule is None or extra.correction is not None or correction is None:
        return False
    reads, own = read_by_rule(extra.rule), read_by(book, correction)
    if not rows.any():
        return reads == own and _looks_like(extra, correction, book)
    return bool(reads & own) and bool(extra.rows[rows].mean() >= _OVERLAP)


def as_it_was(
    name: str, findings: Sequence[Finding], trials: Sequence[Sequence[Trial]], sheet: int
) -> bool:
    """Whether what was read out in a correction's place posts what the correction itself would:
    then it was not written anew, and the sheet has it right."""
    shares = []
    for finding, log in zip(findings, trials, strict=True):
        own = np.nan_to_num(log[sheet].sheet.parts[name].values)
        posts = [e.values for e in finding.extras if e.correction == name and e.values is not None]
        anew = np.nan_to_num(np.sum(posts, axis=0)) if posts else np.zeros(own.shape)
        limit = finding.book.tolerance
        acts = np.maximum(np.abs(own), np.abs(anew)) > limit
        if acts.any():
            apart = np.abs(own - anew)[acts] > limit + finding.book.slack[acts]
            shares.append(1.0 - float(apart.mean()))
    return bool(shares) and min(shares) >= _AS_IT_WAS


def apart_from(
    name: str, findings: Sequence[Finding], trials: Sequence[Sequence[Trial]], sheet: int
) -> bool:
    """Whether all that is left over is told by rules that, like their rivals, read nothing of what
    a correction reads.

    The correction with other numbers would have to say what it says, and what these rules say.
    """
    for finding, log in zip(findings, trials, strict=True):
        rules = [one for extra in finding.extras for one in (extra.rule, *extra.alternatives)]
        reads = read_by(finding.book, log[sheet].sheet.correction(name))
        if not finding.settled or finding.departures:
            return False
        if any(rule is None or read_by_rule(rule) & reads for rule in rules):
            return False
    return True


def acting_twice(finding: Finding) -> int:
    """How many rules follow, or may follow as well, what a correction that acts in the same rows
    follows too: that is one correction with other numbers, and not two."""
    sheet = finding.base.sheet
    if sheet is None:
        return 0
    doubled = 0
    for extra in finding.extras:
        rules = [rule for rule in (extra.rule, *extra.alternatives) if rule is not None]
        along = {rule.along.channel for rule in rules if rule.along is not None}
        acting = [
            entry.correction
            for entry in finding.base.ledger.entries
            if _share_of(extra.rows, np.abs(entry.values) > finding.book.tolerance) >= _OVERLAP
        ]
        doubled += any(along & read_by(finding.book, sheet.correction(name)) for name in acting)
    return doubled


def _share_of(rows: BoolArray, acting: BoolArray) -> float:
    """The share of some rows in which something acts."""
    return float(acting[rows].mean()) if rows.any() else 0.0


def written_apart(findings: Sequence[Finding]) -> int:
    """In how many logs a correction was written anew otherwise than in the first that shows it:
    one car has one sheet, unless another was loaded on the way."""
    first: dict[str, Rule] = {}
    apart = 0
    for finding in findings:
        for extra in finding.extras:
            if extra.rule is None or extra.correction is None:
                continue
            before = first.setdefault(extra.correction, extra.rule)
            apart += not _alike(before, extra.rule, finding.book.tolerance)
    return apart


def _alike(one: Rule, other: Rule, within: float) -> bool:
    """Whether two rules say the same numbers where both say any."""
    if one.along is None or other.along is None:
        amounts = (one.amount_deg, other.amount_deg)
        return None not in amounts and abs((amounts[0] or 0.0) - (amounts[1] or 0.0)) <= within
    if one.along.channel != other.along.channel:
        return False
    at = np.array(sorted({*one.along.at, *other.along.at}))
    shared = (at >= max(one.along.at[0], other.along.at[0])) & (
        at <= min(one.along.at[-1], other.along.at[-1])
    )
    off = np.interp(at, one.along.at, one.along.deg) - np.interp(
        at, other.along.at, other.along.deg
    )
    return bool((np.abs(off[shared]) <= within).all())
