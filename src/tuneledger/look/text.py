"""The look for a terminal: how the log was read, its signals with their reasons, the rest."""

from collections.abc import Iterator

from tuneledger.look.model import Look, Seen
from tuneledger.signals import SIGNALS
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
from tuneledger.wording import count, listing, number, quantity, seconds, share, unit_words

WIDEST, NARROWEST = 110, 40
_LABELS = 11
_SIGNAL, _SURE, _RATE, _STEP = 27, 6, 10, 13
_NAME = 24  # cells that a channel's name gets beside its signal, or else a row of its own
_MOST_REASONS = 3
_WORTH_NAMING = 0.03


def as_text(looked: Look, *, width: int = 80, colour: bool = False) -> str:
    """The look as text of at most `width` cells; plain where `colour` is off."""
    width = max(min(width, WIDEST), NARROWEST)
    sections = [
        paragraph(_headline(looked), width, "strong"),
        list(_reading(looked, width)),
        list(_signals(looked, width)),
        list(_not_sure(looked, width)),
        list(_others(looked, width)),
        list(_notes(looked, width)),
    ]
    return printed(stacked(sections), colour)


def _headline(looked: Look) -> str:
    log = looked.log
    return (
        f"{log.file}: {seconds(log.duration_s)}, {count(log.samples, 'sample')} at "
        f"{_rate(log.rate_hz)}, {count(len(log.channels), 'channel')}"
    )


def _reading(looked: Look, width: int) -> Iterator[Line]:
    layout = dict(looked.log.layout)
    time = layout.pop("time", None)
    if layout:
        told = ", ".join(f"{name} {value}" for name, value in layout.items())
        yield from labelled("Read as", [told], width, _LABELS)
    if time:
        yield from labelled("Time", [time], width, _LABELS)


def _signals(looked: Look, width: int) -> Iterator[Line]:
    """What each signal is, and below it why."""
    order = {name: i for i, name in enumerate(SIGNALS)}
    known = [seen for seen in looked.channels if seen.signal and seen.channel != looked.log.time]
    known.sort(key=lambda seen: order.get(seen.signal or "", len(order)))
    names = max((cells_in(_named(seen)) for seen in known), default=0) + 1
    for seen in known:
        yield from _signal_rows(seen, names, width)
        reasons = [listing(seen.why[:_MOST_REASONS])] if seen.why else []
        if seen.runner_up and seen.runner_up.certainty >= _WORTH_NAMING:
            other = seen.runner_up
            reasons.append(f"next best: '{other.channel}' ({share(other.certainty)})")
        reasons += seen.remarks
        if reasons:
            yield from paragraph("; ".join(reasons), width, "faint", indent=3)
    found = {seen.signal for seen in known} | {"time"}
    unsure = {doubt.signal for doubt in looked.roles.doubts}
    missing = [name for name in SIGNALS if name not in found | unsure]
    if missing:
        yield from labelled("Not found", [", ".join(missing)], width, _LABELS)


def _signal_rows(seen: Seen, names: int, width: int) -> Iterator[Line]:
    """One row; two on a screen too narrow for the channel's name beside the signal's."""
    signal = Words(fitted(seen.signal or "", _SIGNAL), "strong")
    sure = _right(share(seen.certainty), _SURE)
    room = width - _SIGNAL - _SURE - _RATE - _STEP
    if room >= min(names, _NAME):
        yield line(signal, fitted(_named(seen), min(names, room)), sure, *_measures(seen))
        return
    yield line(signal, sure)
    room = min(names, width - 3 - _RATE - _STEP)
    yield line("   ", fitted(_named(seen), room), *_measures(seen))


def _not_sure(looked: Look, width: int) -> Iterator[Line]:
    for doubt in looked.roles.doubts:
        may_be = [f"'{channel.name}' ({share(p)})" for channel, p in doubt.candidates]
        told = f"{doubt.signal}: {listing(may_be, 'or')}"
        yield from labelled(
            "Not sure", [f"{told}; {doubt.why}" if doubt.why else told], width, _LABELS
        )
    if looked.roles.doubts:
        told = "Say which it is in a roles file, and hand it over with --roles."
        yield from labelled("", [told], width, _LABELS)


def _others(looked: Look, width: int) -> Iterator[Line]:
    """One line per channel that is no signal."""
    rest = [seen for seen in looked.channels if not seen.signal]
    if not rest:
        return
    longest = max(cells_in(_named(seen)) for seen in rest) + 1
    names = min(longest, width - _RATE - _STEP)
    yield line(Words(count(len(rest), "other channel"), "strong"))
    for seen in rest:
        yield line(fitted(_named(seen), names), *_measures(seen))
        if seen.remarks:
            yield from paragraph("; ".join(seen.remarks), width, "faint", indent=3)


def _notes(looked: Look, width: int) -> Iterator[Line]:
    yield from labelled("Notes", [*looked.notes, *looked.advance], width, _LABELS)


def _named(seen: Seen) -> str:
    unit = unit_words(seen.channel.unit)
    return f"{seen.channel.name} [{unit}]" if unit else seen.channel.name


def _measures(seen: Seen) -> tuple[str, str]:
    facts = seen.facts
    rate = _right(_rate(facts.rate_hz), _RATE) if facts.rate_hz else " " * _RATE
    step = f"step {number(facts.step)}" if facts.step else ""
    return rate, _right(step, _STEP)


def _rate(rate: float | None) -> str:
    return quantity(rate or 0.0, "Hz", 3)


def _right(text: str, width: int) -> str:
    return " " * max(1, width - cells_in(text)) + text
