"""The statement for a terminal: a bank statement on paper, at most one screen of it.

Headline first, then the facts, the causes as postings, the stretches summed up by regime, what is
needed, and what has to be said for safety. What does not fit is folded and counted.
"""

from tuneledger.explain.model import Cause
from tuneledger.explain.risen import in_no_file
from tuneledger.record import record
from tuneledger.statement import facts, rivals, words
from tuneledger.statement.accounts import Account, accounts
from tuneledger.statement.model import Statement
from tuneledger.statement.paper import (
    Line,
    Words,
    cells_in,
    fitted,
    labelled,
    line,
    paragraph,
    printed,
    stacked,
)
from tuneledger.statement.ruled import Columns, heading, ink, leader, numbers
from tuneledger.wording import count, degrees, seconds, sentence, share

LABELS = 11
WIDEST = 100  # longer lines are hard to read, however wide the terminal
NARROWEST = 32
_A_GUESS = 0.2  # a rule that is less sure than this says nothing by its conditions: judgement
NARROW = 72  # below this the postings and the sums are written as phrases


@record
class Fold:
    """How much of each list is shown."""

    told: int  # causes with their sentence and next step
    listed: int  # further causes, one line each
    regimes: int
    needs: int
    notes: int


FOLDS = (
    Fold(8, 8, 8, 8, 8),
    Fold(5, 6, 6, 6, 4),
    Fold(4, 4, 5, 4, 3),
    Fold(3, 3, 4, 3, 2),
    Fold(2, 3, 3, 2, 1),
    Fold(1, 3, 2, 2, 1),
    Fold(1, 1, 1, 1, 1),
)


def as_text(
    statement: Statement, *, width: int = 80, height: int = 40, colour: bool = False
) -> str:
    """The statement as text: `width` cells at most, and `height` lines where folding allows it.

    colour: with terminal colour codes; without, plain text that means the same
    """
    width = max(min(width, WIDEST), NARROWEST)
    head = paragraph(statement.headline, width, "stop" if statement.raised_under_load else "strong")
    facts, sums = _facts(statement, width), accounts(statement)
    for fold in FOLDS:
        foldable = (
            _causes(statement, width, fold),
            _sums(sums, width, fold),
            _remarks(statement, width, fold),
        )
        lines = stacked([head, facts, *foldable])
        if len(lines) <= height:
            break
    return printed(lines, colour)


def _facts(statement: Statement, width: int) -> list[Line]:
    rows = {
        "Verdict": [facts.verdict(statement)],
        "Running": [facts.running(statement)],
        "Log" if len(statement.logs) == 1 else "Logs": [facts.logs(statement)],
        "Compared": facts.compared(statement),
    }
    return [row for k, texts in rows.items() for row in labelled(k, texts, width, LABELS)]


def _remarks(statement: Statement, width: int, fold: Fold) -> list[Line]:
    needs = [f"{need.what}: {need.why}" for need in statement.needs]
    return [
        *labelled("Loading", words.loading(statement), width, LABELS),
        *labelled("Try next", words.try_next(statement), width, LABELS),
        *labelled("Needed", _folded(needs, fold.needs), width, LABELS),
        *labelled("Notes", _folded(list(statement.notes), fold.notes), width, LABELS),
        *labelled("Take care", [" ".join(words.cautions(statement))], width, LABELS),
    ]


def _folded(texts: list[str], most: int) -> list[str]:
    # A line that says "and 1 more" takes the place of the one.
    if len(texts) <= most + 1:
        return texts
    return [*texts[:most], facts.more(len(texts) - most)]


# ---- the postings


def _causes(statement: Statement, width: int, fold: Fold) -> list[Line]:
    if not statement.causes:
        return []
    narrow = width < NARROW
    out: list[Line] = [] if narrow else [*heading("Cause", _columns(statement), width)]
    for cause in statement.causes[: fold.told]:
        out += _posting(cause, statement, width)
        out += _told(cause, statement, width)
    listed = statement.causes[fold.told :]
    folded = listed[fold.listed :] if len(listed) > fold.listed + 1 else ()
    rest = [cause for cause in folded if not _nowhere_else(cause)]
    for cause in listed:
        if cause not in rest:
            out += _posting(cause, statement, width)
            out += _rule(cause, statement, width) if _nowhere_else(cause) else []
    if rest:
        out.append(line("   ", facts.more(len(rest))))
    return out


def _nowhere_else(cause: Cause) -> bool:
    """Whether a cause is told whatever its rank: no file lists it, and it is not a mere guess."""
    return in_no_file(cause) and cause.certainty >= _A_GUESS


_POSTING = (("degrees", 9), ("time", 12), ("evidence", 10), ("certainty", 11))


def _columns(statement: Statement) -> Columns:
    """The columns of the postings: what goes both ways takes more room, of the time's if it can."""
    (first, least), (second, most), *others = _POSTING
    amounts = [cells_in(words.amount(cause, narrow=True)) for cause in statement.causes]
    times = [cells_in(seconds(cause.seconds)) for cause in statement.causes]
    wide = max(least, *(amount + 2 for amount in amounts))
    return ((first, wide), (second, max(most + least - wide, max(times) + 2)), *others)


def _posting(cause: Cause, statement: Statement, width: int) -> list[Line]:
    name = words.named(cause, statement) + (", expected" if cause.expected else "")
    evidence, sure = words.evidence(cause, statement), share(cause.certainty)
    amount, time = words.amount(cause, narrow=width >= NARROW), seconds(cause.seconds)
    number = f"{cause.rank}".ljust(3)
    if width < NARROW:
        return [
            *_hanging(number, name, width, "strong"),
            *paragraph(f"{amount} for {time}, {evidence}, {sure} sure", width, indent=3),
        ]
    colour, columns = "" if cause.span else ink(cause.degrees), _columns(statement)
    cells = [(amount, colour), (time, ""), (evidence, ""), (sure, "")]
    room = width - len(number) - sum(size for _, size in columns)
    return [line(number, *leader(name, room), *numbers(cells, columns))]


def _told(cause: Cause, statement: Statement, width: int) -> list[Line]:
    out = paragraph(sentence(cause.says), width, indent=3)
    units = words.units(statement)
    out += _rule(cause, statement, width)
    if cause.cells:
        out += _hanging("   Cells: ", words.cells(cause, statement), width)
    if cause.alternatives:
        fits = facts.fold(rivals.groups(cause, units), 3, "; ")
        out += _hanging("   Fits equally: ", fits, width)
    label, step = words.next_step(cause)
    return out + _hanging(f"   {label}: ", step, width)


def _rule(cause: Cause, statement: Statement, width: int) -> list[Line]:
    if cause.rule is None:
        return []
    return _hanging("   Rule: ", words.rule(cause.rule, words.units(statement)), width)


def _hanging(head: str, text: str, width: int, ink: str = "") -> list[Line]:
    rows = paragraph(text, width, ink, indent=len(head))
    return [line(Words(head, "" if ink else "faint"), *rows[0][1:]), *rows[1:]]


# ---- the stretches, summed up


_SUMS = (
    ("episodes", 9),
    ("time", 11),
    ("scheduled", 10),
    ("delivered", 10),
    ("difference", 11),
    ("unaccounted", 12),
)


def _sums(sums: list[Account], width: int, fold: Fold) -> list[Line]:
    if not sums:
        return []
    write = _phrase if width < NARROW else _sum
    out = [] if width < NARROW else heading("Where", _SUMS, width)
    folded = len(sums) > fold.regimes + 1
    shown = sums[: fold.regimes] if folded else sums
    out += [row for account in shown for row in write(account, width)]
    if folded:
        out.append(line(facts.more(len(sums) - len(shown))))
    return out


def _sum(account: Account, width: int) -> list[Line]:
    cells = [
        (f"{account.episodes}", ""),
        (seconds(account.seconds), ""),
        (degrees(account.scheduled_deg, signed=False), ""),
        (degrees(account.delivered_deg, signed=False), ""),
        (degrees(account.difference_deg), ink(account.difference_deg)),
        (degrees(account.unaccounted_deg), ""),
    ]
    room = width - sum(size for _, size in _SUMS)
    return [line(fitted(account.named, room), *numbers(cells, _SUMS))]


def _phrase(account: Account, width: int) -> list[Line]:
    parts = (
        count(account.episodes, "episode"),
        seconds(account.seconds),
        degrees(account.difference_deg),
        f"unaccounted {degrees(account.unaccounted_deg)}",
    )
    return paragraph(f"{account.named}: {', '.join(parts)}", width)
