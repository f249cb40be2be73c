"""A suspicion and a rule that would do as well: weighed against each other, and both shown.

A correction that a sheet lists but the log cannot compute may have acted wherever what it can post
fits. A rule read out of the log may account for the same stretches. The sheet speaks for the first,
the edges at which the rule was seen to act for the second. What is not sure of the rule goes to the
suspicion, so much the more the less it could have posted anything else.
"""

from collections.abc import Sequence
from dataclasses import replace

from tuneledger.explain.leftover.model import Extra
from tuneledger.explain.model import SURE, Point, Rule
from tuneledger.explain.reads import read_by, read_by_rule
from tuneledger.explain.sheets import LaidSheet
from tuneledger.ledger.book import Book
from tuneledger.wording import listing

# How much better than a wrong rule a suspicion does that could post one number only, cells that
# were fitted, and a table that could have posted much else: common sense, no source.
_EXACT, _FITTED, _TABLE = 5.0, 1.0, 0.5


def suspicions(sheet: LaidSheet | None, extras: Sequence[Extra]) -> list[Extra]:
    """Those that cannot be posted, although the sheet says what they would post, or where.

    What the ECU works out itself is not among them: it comes last, after every rule.
    """
    found = []
    for extra in extras:
        correction = sheet.correction(extra.correction or "") if sheet is not None else None
        if extra.values is None and correction is not None and correction.has_numbers:
            found.append(extra)
    return found


def rules_in_place(
    book: Book, sheet: LaidSheet | None, suspects: Sequence[Extra], extras: Sequence[Extra]
) -> tuple[Extra, ...] | None:
    """What was found without the suspicions, where its rules are sure enough beside them.

    None where they are not; where a rule only reads what the suspected correction reads too, or
    nothing at all, since then it is that correction as far as the log shows it; and where it is a
    curve, since along a channel that moves with the missing one anything can be drawn. What is not
    logged is asked for all the same.
    """
    out = []
    for extra in extras:
        rivals = [one for one in suspects if (extra.rows & one.rows).any()]
        if not rivals:
            out.append(extra)
            continue
        if (
            extra.rule is None
            or extra.rule.along is not None
            or any(_is_that(book, sheet, one, extra.rule) for one in rivals)
        ):
            return None
        out.append(_beside(sheet, extra, rivals))
        if out[-1].certainty < SURE:
            return None
    return tuple(out)


def _is_that(book: Book, sheet: LaidSheet | None, suspect: Extra, rule: Rule) -> bool:
    """Whether all that a rule reads is read by the suspected correction; a rule that acts
    throughout has no edge at which it was seen to act."""
    reads = read_by_rule(rule)
    if sheet is None:
        return False
    return reads <= read_by(book, sheet.correction(suspect.correction or ""))


def _beside(sheet: LaidSheet | None, rule: Extra, rivals: Sequence[Extra]) -> Extra:
    odds = sum(_odds(sheet, one) for one in rivals)
    names = listing(f"'{one.correction}'" for one in rivals)
    return replace(
        rule,
        certainty=round(rule.certainty / (1.0 + odds * (1.0 - rule.certainty)), 2),
        needs=tuple(dict.fromkeys(need for one in rivals for need in one.needs)),
        points=(
            *rule.points,
            Point("against", f"{names} of the sheet could have done this too: not computable"),
        ),
    )


def _odds(sheet: LaidSheet | None, suspect: Extra) -> float:
    if suspect.shown is not None:
        return _FITTED
    correction = sheet.correction(suspect.correction or "") if sheet is not None else None
    return _EXACT if correction is not None and correction.grid.size == 1 else _TABLE


def with_rules(suspects: Sequence[Extra], extras: Sequence[Extra]) -> dict[str, Extra]:
    """Correction → its suspicion, with the rules that would account for the same beside it."""
    out = {}
    for one in suspects:
        rules = [e.rule for e in extras if e.rule is not None and (e.rows & one.rows).any()]
        told = replace(one, alternatives=tuple(rules))
        if rules:
            point = Point("against", "a rule that no sheet has would account for it as well")
            told = replace(told, points=(*one.points, point))
        out[one.correction or ""] = told
    return out
