"""A highest, lowest or fixed advance that no sheet has, and what is left over beside it."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from tuneledger.arrays import BoolArray, FloatArray
from tuneledger.explain.account import LIMIT, Account
from tuneledger.explain.caps import at_its_own
from tuneledger.explain.cost import left_over
from tuneledger.explain.leftover.held import words
from tuneledger.explain.leftover.held.holding import Telling, hold_of, telling, values
from tuneledger.explain.leftover.held.levels import Level, asked_for, levels
from tuneledger.explain.leftover.held.when import When, when
from tuneledger.explain.leftover.model import Extra
from tuneledger.explain.model import Hold, Rule
from tuneledger.explain.offer import posted
from tuneledger.explain.rules import find as rules
from tuneledger.explain.rules.terms import Term
from tuneledger.explain.sheets import LaidSheet
from tuneledger.explain.written import along_scheduled
from tuneledger.ledger.book import Book
from tuneledger.ledger.episodes import unaccounted_runs
from tuneledger.ledger.tolerance import local_change
from tuneledger.record import record

# Nats for the number, and for saying which of the three it is.
_NUMBER, _EFFECT = 4.0, 2.0
# Nats that a number has to save, and of how many at a time: a highest and a lowest.
_LEAST_GAIN = 10.0
_MOST = 2
# Of the rows that tell, where the conditions hold, and of those that are held.
_RIGHT_SHARE, _SETTLED_SHARE = 0.93, 0.85
# A highest and a fixed advance look the same where asked never came within the number.
_EITHER = 0.9
_FOLLOWS_S = 0.2
_EDGE_ROWS = 3
_SETTLED_BY_RULES = 0.02


@record(eq=False)
class Held:
    """A held advance with its condition, and the rows that told of it.

    either: the log does not show whether it is a highest (a lowest) or a fixed advance
    """

    hold: Hold
    level: Level
    told: Telling
    when: When
    either: bool
    certainty: float


def find(book: Book, account: Account, laid: Sequence[LaidSheet]) -> tuple[Extra, ...]:
    """What the advance is held at, and the rules for what is left over beside that."""
    found: list[Held] = []
    current = account
    while len(found) < _MOST and current.runs:
        one = _best(book, current)
        if one is None:
            break
        found.append(one)
        current = posted(book, current, _extra(book, current, one))
    while found:
        extras, after = _shortest(book, account, found, laid)
        kept = [one for one in found if _comes_out(book, after, one)]
        if len(kept) == len(found):
            return extras
        found = kept
    return ()


def _shortest(
    book: Book, account: Account, found: Sequence[Held], laid: Sequence[LaidSheet]
) -> tuple[tuple[Extra, ...], Account]:
    """What is held, with the rules beside it where that is shorter, and the account with it."""
    ways = [_posted(book, account, found, ())]
    beside = () if _settled_by_rules(book, account, laid) else _beside(book, account, found, laid)
    if beside:
        ways.append(_posted(book, account, found, beside))
    extras, after, _ = min(ways, key=lambda one: one[2])
    return extras, after


def _settled_by_rules(book: Book, account: Account, laid: Sequence[LaidSheet]) -> bool:
    """Whether one rule alone leaves next to nothing: what is held, and a rule beside it, is
    longer."""
    alone = rules.find(book, account, laid)
    if len(alone) != 1:
        return False
    after = posted(book, account, replace(alone[0], entry="alone"))
    return left_over(book, after) <= _SETTLED_BY_RULES * left_over(book, account)


def _comes_out(book: Book, after: Account, one: Held) -> bool:
    """Whether nearly all of the rows in which it holds are accounted for: else something else sets
    the advance then, and this is one of the numbers that it goes through."""
    asked = book.start if one.hold.effect == "replace" else asked_for(book, after)
    posts = np.abs(values(one.hold, asked, one.when.on & ~one.when.doubt)) > book.tolerance
    rows = posts & np.isfinite(after.left)
    off = np.abs(after.left) > book.tolerance + book.slack + after.ledger.edge_slack
    return not rows.any() or float(off[rows].mean()) <= 1.0 - _SETTLED_SHARE


def _posted(
    book: Book, account: Account, found: Sequence[Held], beside: Sequence[Extra]
) -> tuple[tuple[Extra, ...], Account, float]:
    """What is held, after the rules that act beside it, the account with both, and the length of
    that in nats."""
    for number, extra in enumerate(beside):
        account = posted(book, account, replace(extra, entry=f"beside-{number}"))
    held: list[Extra] = []
    for one in found:
        held.append(_extra(book, account, one))
        account = posted(book, account, held[-1])
    out = (*beside, *held)
    return out, account, left_over(book, account) + sum(extra.price for extra in out)


def _beside(
    book: Book, account: Account, found: Sequence[Held], laid: Sequence[LaidSheet]
) -> tuple[Extra, ...]:
    """The rules for what is left over where delivered is not held: there nothing else shows, and
    here no limit has a part."""
    silent = np.any([_silent(one) for one in found], axis=0)
    left = np.where(silent, np.nan, account.left)
    free = replace(account, left=left, runs=tuple(unaccounted_runs(account.judging)))
    return rules.find(book, free, laid) if free.runs else ()


def _silent(one: Held) -> BoolArray:
    """Rows in which nothing beside a held advance shows: it acts, or just comes or goes."""
    edges = local_change(one.when.on.astype(np.float64), reach=_EDGE_ROWS) > 0
    return np.asarray((one.told.acts & one.when.on) | one.when.doubt | edges)


def _best(book: Book, account: Account) -> Held | None:
    """The level that shortens the account most, if one does by enough."""
    asked = asked_for(book, account)
    before, best, gain = left_over(book, account), None, _LEAST_GAIN
    for level in levels(book, account, asked):
        one = _held(book, asked, level)
        # What runs into a number that the sheet has itself is a rule's work.
        if one is None or at_its_own(book, account, one.told.acts & one.when.on):
            continue
        extra = _extra(book, account, one)
        saved = before - left_over(book, posted(book, account, extra)) - extra.price
        if saved > gain:
            best, gain = one, saved
    return best


def _held(book: Book, asked: FloatArray, level: Level) -> Held | None:
    hold = hold_of(book, asked, level.degrees)
    told = telling(book, asked, hold)
    found = when(book, told) if told.acts.any() else None
    if found is None:
        return None
    right = int((told.acts & found.on).sum())
    if right < _SETTLED_SHARE * told.acts.sum():
        return None
    if right < _RIGHT_SHARE * ((told.acts | told.rests) & found.on).sum():
        return None
    # Without a condition it is a limit: a fixed advance would have to be switched off somewhere.
    follows = float((told.follows & found.on).sum()) * book.row_s
    either = bool(found.terms) and hold.effect != "replace" and follows < _FOLLOWS_S
    if either and any(term.side == 0 for term in found.terms):
        # A mode that is switched on sets one number, or it sets something else.
        hold = Hold("replace", hold.degrees)
        told = telling(book, asked, hold)
        right = int((told.acts & found.on).sum())
        if right < _RIGHT_SHARE * ((told.acts | told.rests) & found.on).sum():
            return None
    share = right / max(1, int(((told.acts | told.rests) & found.on).sum()))
    sure = found.sure * share * (_EITHER if either else 1.0)
    return Held(hold, level, told, found, either, round(float(sure), 2))


def _extra(book: Book, account: Account, one: Held) -> Extra:
    """What it posts to an account, beside all that acts there."""
    hold, on = one.hold, one.when.on
    alone = hold.effect == "replace"
    asked = book.start if alone else asked_for(book, account)
    posts = values(hold, asked, on)
    might = np.where(one.when.doubt, values(hold, asked, ~on) - posts, 0.0)
    limit = not alone and not one.when.terms
    if limit:  # in place of a sheet's own limit, which stands in the account
        posts = posts - _of_that_side(hold, account)
    rule = _rule(book, one.when.terms, hold, asked, posts)
    others = [_rule(book, terms, hold, asked, posts) for terms in one.when.tied]
    return Extra(
        kind="replacement" if alone else "limit",
        rows=np.isfinite(account.left) & (np.abs(posts) > book.tolerance),
        certainty=one.certainty,
        price=_NUMBER + _EFFECT + one.when.price,
        entry=LIMIT if limit else "",
        values=posts,
        leeway=(np.maximum(-might, 0.0), np.maximum(might, 0.0)),
        rule=rule,
        alternatives=tuple(others),
        points=tuple(words.points(book, asked, one.level, one.told, one.when, either=one.either)),
        name=words.name(hold, account.sheet, limit=limit),
        alone=alone,
    )


def _of_that_side(hold: Hold, account: Account) -> FloatArray:
    """What the account has a highest advance take already, or a lowest one add."""
    total: FloatArray = np.zeros(account.left.shape)
    for entry in account.judging.entries:
        if entry.correction == LIMIT:
            total = total + np.nan_to_num(entry.values)
    keep = np.minimum if hold.effect == "at most" else np.maximum
    return np.asarray(keep(total, 0.0))


def _rule(
    book: Book, terms: Sequence[Term], hold: Hold, asked: FloatArray, posts: FloatArray
) -> Rule:
    acts: BoolArray = np.abs(posts) > book.tolerance
    bare = not (np.abs(asked - book.start)[acts] > 0.5 * book.tolerance).any()
    along = along_scheduled(hold, book.roles) if bare and book.scheduled is not None else None
    return Rule(when=tuple(term.written() for term in terms), along=along, hold=hold)
