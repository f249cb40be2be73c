"""What to ask for next, cause by cause."""

from collections.abc import Iterator, Sequence

import numpy as np

from tuneledger.arrays import FloatArray
from tuneledger.explain.experiments.choosing import Choice, beside, best_choices
from tuneledger.explain.experiments.controls import left_alone, options
from tuneledger.explain.experiments.hypotheses import (
    channels_of,
    prior_of,
    rules_of,
    seen_channels,
)
from tuneledger.explain.experiments.missing import to_be_logged
from tuneledger.explain.experiments.model import Experiment
from tuneledger.explain.experiments.revisions import between_revisions
from tuneledger.explain.experiments.stretches import Stretches, straight_line
from tuneledger.explain.finding import Finding
from tuneledger.explain.model import Cause, Rule, Running
from tuneledger.explain.nextstep import FOR_THE_SHEET
from tuneledger.explain.written import contribution
from tuneledger.ledger.book import Book
from tuneledger.wording import listing, visible

_LOAD = ("throttle position", "accelerator position", "manifold absolute pressure", "engine load")


def experiments(
    findings: Sequence[Finding], causes: Sequence[Cause], running: Running | None
) -> tuple[Experiment, ...]:
    """What to log next: about causes that have rivals or lack a channel, and about revisions that
    the logs cannot tell apart.

    A cause that puts delivered above scheduled under load gets none: nothing is to be tried.
    """
    about_causes = (
        one
        for cause in causes
        if not cause.raises_under_load and not cause.expected
        for one in _about(findings, cause)
    )
    return (*about_causes, *between_revisions(findings, running))


def _about(findings: Sequence[Finding], cause: Cause) -> Iterator[Experiment]:
    yield from to_be_logged(findings, cause)
    finding = next(
        (f for f in findings if any(e.entry == cause.entry for e in f.extras)), findings[0]
    )
    book, rules = finding.book, rules_of(cause)
    if len(rules) < 2 or all(_goes_together(book, rules[0], rule) for rule in rules[1:]):
        return
    sheets = [sheet.calibration for sheet in finding.laid]
    read = seen_channels(rules)
    offered = [
        option
        for name, seen in read.items()
        if (channel := book.log.find(name)) is not None
        for option in options(book, channel, seen.cuts, timed=seen.timed, sheets=sheets)
    ]
    alone = left_alone(book, read, offered)

    def predict(stretches: Stretches) -> list[FloatArray]:
        return [contribution(rule, stretches) for rule in rules]

    chosen = best_choices(book, offered, predict, prior_of(cause, len(rules)), alone)
    if not chosen:
        yield _watched(cause, rules, alone) if alone else _nothing_safe(book, cause, rules)
    for number, choice in enumerate(chosen):
        yield Experiment(
            sentence=choice.sentence(beside(choice, offered, alone), again=number > 0),
            tells=_apart(rules[0], _told_apart(rules, choice)),
            bits=round(choice.bits, 2),
            cause=cause.entry,
        )


def _watched(cause: Cause, rules: Sequence[Rule], alone: Sequence[str]) -> Experiment:
    """Where only a switch would tell that nobody is asked to turn."""
    apart = _apart(rules[0], rules[1:])
    sentence = (
        f"Turn no switch for this: only watch {_names(alone)} on the next logs; nothing that may "
        f"be asked for would tell {apart}: {FOR_THE_SHEET}."
    )
    return Experiment(sentence, apart, 0.0, cause.entry)


def _goes_together(book: Book, one: Rule, other: Rule) -> bool:
    """Whether the rules differ only in channels that say the same: two sensors on one pedal."""
    mine, theirs = channels_of(one), channels_of(other)
    own = [name for name in mine if name not in theirs]
    others = [name for name in theirs if name not in mine]
    return len(own) == len(others) and all(
        any(straight_line(book, name, twin) for twin in others) for name in own
    )


def _told_apart(rules: Sequence[Rule], choice: Choice) -> list[Rule]:
    """The rivals whose outcome is another than that of the first rule."""
    return [
        rule
        for rule, said in zip(rules[1:], choice.said[1:], strict=True)
        if np.abs(said - choice.said[0]).sum() > 0.5
    ] or list(rules[1:])


def _apart(first: Rule, rivals: Sequence[Rule]) -> str:
    """`Wet switch from Fan`: what only the first rule reads, from what the rivals read instead;
    `whether Fan has a part in it`, where they read that besides, or the first rule does."""
    mine = channels_of(first)
    theirs = dict.fromkeys(n for rule in rivals for n in channels_of(rule) if n not in mine)
    own = [n for n in mine if any(n not in channels_of(rule) for rule in rivals)]
    if bool(own) is not bool(theirs):
        return f"whether {_names(own or list(theirs), joiner='or')} has a part in it"
    own = own or mine
    own_names = _names(own) or "a rule that always acts"
    return f"{own_names} from {_names(list(theirs)) or 'the other rules'}"


def _names(names: Sequence[str], most: int = 2, joiner: str = "and") -> str:
    shown = [visible(name) for name in names[:most]]
    others = "another" if joiner == "or" else "others"
    return listing([*shown, others] if len(names) > most else shown, joiner)


def _nothing_safe(book: Book, cause: Cause, rules: Sequence[Rule]) -> Experiment:
    """Where no mild drive would tell."""
    apart = _apart(rules[0], rules[1:])
    read = {name for rule in rules for name in channels_of(rule)}
    under_load = any(
        (role := book.roles.get(signal)) is not None and role.channel.name in read
        for signal in _LOAD
    )
    if under_load:
        sentence = (
            f"Only a drive under load would tell {apart}, and none is asked for: {FOR_THE_SHEET}."
        )
    else:
        sentence = (
            f"No mild drive is known that would tell {apart}: all of it is logged, and moved "
            f"together here: {FOR_THE_SHEET}."
        )
    return Experiment(sentence, apart, 0.0, cause.entry)
