"""The one question that may be asked: which channel is a signal on which something turns.

Asked only of a person at a terminal, at most once per call, with the likely channels to choose
from; not to be sure is an answer too. Elsewhere it is said that it was not asked, and how to tell.
"""

import sys
from typing import TYPE_CHECKING, TextIO

from tuneledger.cli.terminal import say

if TYPE_CHECKING:
    from tuneledger.roles.model import Doubt
    from tuneledger.statement.model import Statement

_MOST_CHOICES = 5
_MOST_TRIES = 3


def open_question(statement: "Statement") -> "Doubt | None":
    """The signal without a sure channel that matters most to this statement, if there is one."""
    from tuneledger.statement.asking import doubts_that_matter

    return next(iter(doubts_that_matter(statement)), None)


def can_ask(given: TextIO | None, out: TextIO) -> bool:
    """Whether a person reads and writes here; a pipe on either side is none."""
    return bool(given is not None and given.isatty() and out.isatty())


def ask(doubt: "Doubt") -> dict[str, str]:
    """Signal → channel, as the person says; empty where they are not sure, or say nothing."""
    answers = [{doubt.signal: channel.name} for channel, _ in doubt.candidates[:_MOST_CHOICES]]
    if doubt.instead is not None:
        answers.append({doubt.instead[0]: doubt.candidates[0][0].name})
    say(_asked(doubt))
    for _ in range(_MOST_TRIES):
        say(f"Number [{len(answers) + 1}]: ")
        line = sys.stdin.readline()
        answer = line.strip()
        if not line.endswith("\n"):
            say("\n")  # the input has ended
        if not answer or answer == str(len(answers) + 1):
            return {}
        if answer.isascii() and answer.isdigit() and 1 <= int(answer) <= len(answers):
            return answers[int(answer) - 1]
        say(f"A number from 1 to {len(answers) + 1}, please.\n")
    return {}


def _asked(doubt: "Doubt") -> str:
    from tuneledger.wording import share, visible

    likely = [
        f"{visible(channel.name)} ({share(certainty)})"
        for channel, certainty in doubt.candidates[:_MOST_CHOICES]
    ]
    if doubt.instead is not None:
        signal, certainty = doubt.instead
        name = visible(doubt.candidates[0][0].name)
        likely.append(f"none: {name} is the {signal} ({share(certainty)})")
    choices = [*likely, "not sure, or another one"]
    lines = [f"  {number}  {choice}" for number, choice in enumerate(choices, start=1)]
    return "\n".join([f"Which channel is the {doubt.signal}?", *lines, ""])


def not_asked(doubt: "Doubt") -> str:
    """The line that says what could not be asked, and how to tell it."""
    import json

    from tuneledger.wording import visible

    likeliest = doubt.candidates[0][0].name
    signals = [doubt.signal, *([doubt.instead[0]] if doubt.instead is not None else [])]
    lines = [f"{json.dumps(s)} = {json.dumps(likeliest, ensure_ascii=False)}" for s in signals]
    return (
        f"Not asked  which channel is the {doubt.signal}, since this is no terminal.\n"
        f"           Tell it in a roles file (--roles): {visible(' or '.join(lines))}\n"
    )
