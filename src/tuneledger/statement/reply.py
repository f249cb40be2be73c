"""The reply: a short plain text, ready to send to whoever holds the car.

It says what was looked at and what was found, asks for exactly what is missing, and warns in one
line. Whoever sends it has made the statement; whoever reads it may not know the tool.
"""

import re
from textwrap import wrap

from tuneledger.explain.headline import READ_BACK
from tuneledger.explain.nextstep import NO_LOAD
from tuneledger.explain.unsettled import NAME_IT
from tuneledger.statement.asking import Asking, asking, files_of, settled
from tuneledger.statement.model import Statement
from tuneledger.wording import listing, seconds, sentence, visible

WIDTH = 76
_MOST_TOLD = 2
_FILES = "To go on I need these files:"
_MINE = "You need not send anything now: it is for me to look further."
_SENTENCE_END = re.compile(r"(?<=[.!?])\s+(?=[A-Z])")


def reply(statement: Statement) -> str:
    """The text, with a line end after the last line."""
    asked = asking(statement)
    parts = [
        _paragraph(f"I have looked at {_looked_at(statement)}."),
        _paragraph(_found(statement)),
        *_changes(statement),
        *_requests(statement, asked),
        _paragraph(_caution(statement)),
    ]
    return "\n\n".join(parts) + "\n"


def _paragraph(text: str) -> str:
    return "\n".join(wrap(visible(text), WIDTH, break_long_words=False, break_on_hyphens=False))


def _item(text: str) -> str:
    lines = wrap(visible(text), WIDTH - 2, break_long_words=False, break_on_hyphens=False)
    return "- " + "\n  ".join(lines)


def _looked_at(statement: Statement) -> str:
    lasted = sum(account.log.duration_s for account in statement.logs)
    return f"{listing(files_of(statement))} ({seconds(lasted)} of driving)"


def _found(statement: Statement) -> str:
    """What was found so far, in two sentences at most; what the sender is to do is left out."""
    own = {one for cause in statement.causes for one in _SENTENCE_END.split(cause.next_step)}
    own |= {NO_LOAD, READ_BACK, NAME_IT}  # the requests and the caution say it
    told = [one for one in _SENTENCE_END.split(statement.headline) if one not in own]
    return " ".join(told[:_MOST_TOLD])


def _changes(statement: Statement) -> list[str]:
    if statement.loading is None:
        return []
    name = statement.loading.called
    told = " ".join(sentence(text) for text in statement.loading.sentences[:-1])
    return [_paragraph(f"Please do not load {name} yet. {told}")]


def _requests(statement: Statement, asked: Asking) -> list[str]:
    if not asked:
        return ["I need nothing more from you." if settled(statement) else _MINE]
    files = "To be surer still I need:" if settled(statement) else _FILES
    groups = [
        (files, asked.files),
        ("Please log these as well:", asked.channels),
        ("And I need:", asked.drives),
        ("Please tell me:", asked.questions),
    ]
    return ["\n".join([head, *(_item(text) for text in texts)]) for head, texts in groups if texts]


def _caution(statement: Statement) -> str:
    if statement.raised_under_load:
        return (
            "Until this is understood, no load on the engine and no change in the ECU: too much "
            "advance can destroy the engine in seconds."
        )
    if statement.verdict in ("agrees", "expected"):
        return (
            "These are the ECU's own numbers; nobody has checked the crank with a timing light, "
            "and to agree is not to be safe."
        )
    if statement.verdict == "cannot tell":
        return (
            "Until this is known, please change nothing in the ECU and spare the engine high load; "
            "drive only where it is allowed and safe."
        )
    return (
        "Until this is settled, please change nothing in the ECU: too much advance can destroy an "
        "engine in seconds, too much retard overheats exhaust and turbo. Drive only where it is "
        "allowed and safe."
    )
