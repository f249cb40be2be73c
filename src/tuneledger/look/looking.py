"""From a log and its roles to what there is to say about both."""

import numpy as np

from tuneledger.ledger.book import open_book
from tuneledger.logs.behaviour import Span
from tuneledger.logs.facts import Clock, Facts, find_facts
from tuneledger.logs.model import Channel, Log
from tuneledger.look.model import Look, RunnerUp, Seen
from tuneledger.roles.inputs import LogInputs
from tuneledger.roles.model import Roles
from tuneledger.wording import count, quantity, seconds, time_span


def look(log: Log, roles: Roles) -> Look:
    """Look at every channel of a log: its signal, step, raster, gaps, and what is odd about it."""
    clocks = [Clock(group.times) for group in log.groups]
    seen = tuple(_see(log, roles, channel, clocks[channel.group]) for channel in log.channels)
    notes = (*log.notes, *log.cell_notes, *roles.notes)
    return Look(log, roles, seen, tuple(dict.fromkeys(notes)), _advance_notes(log, roles))


def _see(log: Log, roles: Roles, channel: Channel, clock: Clock) -> Seen:
    facts = find_facts(clock, log.values(channel))
    remarks = _remarks(log, channel, facts, frozenset(clock.gaps))
    role = roles.of(channel)
    if role is not None:
        other = role.runner_up
        runner_up = RunnerUp(other[0].name, role.signal, other[1]) if other else None
        return Seen(channel, role.signal, role.certainty, role.why, runner_up, facts, remarks)
    if channel == log.time:
        return Seen(channel, "time", None, (log.layout.get("time", ""),), None, facts, remarks)
    for doubt in roles.doubts:
        certainty = dict(doubt.candidates).get(channel)
        if certainty is not None:
            may_be = RunnerUp(channel.name, doubt.signal, certainty)
            return Seen(channel, None, None, (doubt.why,), may_be, facts, remarks)
    return Seen(channel, None, None, (), None, facts, remarks)


def _remarks(log: Log, channel: Channel, facts: Facts, shared: frozenset[Span]) -> tuple[str, ...]:
    """What is odd about a channel. Gaps that all channels share belong to the log's notes."""
    if facts.lowest is None:
        words = log.columns.words(channel.column)
        return (f"no numbers, but words such as '{words[0]}'" if words else "holds nothing",)
    out = []
    if facts.constant:
        out.append(f"never changes ({quantity(facts.lowest, channel.unit)})")
    if facts.every > 1:
        out.append(f"a sample of its own in one row of {facts.every}")
    gaps = [gap for gap in facts.gaps if gap not in shared]
    if gaps:
        out.append(f"{count(len(gaps), 'gap')}, the first from {time_span(*gaps[0])}")
    for start, end in facts.frozen[:1]:
        more = f", and {len(facts.frozen) - 1} more" if len(facts.frozen) > 1 else ""
        out.append(f"stands still for {seconds(end - start)} from {start:.1f} s{more}")
    if facts.smear:
        out.append(f"a switch that the export has {facts.smear}: values between its two states")
    if facts.thinned:
        out.append("only lowest and highest values: the export has thinned it")
    return tuple(out)


def _advance_notes(log: Log, roles: Roles) -> tuple[str, ...]:
    """Lag and steps of the advance channels, where the log has both; as `reconcile` finds them."""
    delivered = roles.get("delivered advance")
    if delivered is None or roles.get("scheduled advance") is None:
        return ()
    times = log.times(delivered.channel)
    if times.size < 2 or not np.isfinite(log.values(delivered.channel)).any():
        return ()
    inputs = LogInputs(log, roles, times)
    book = open_book(log, roles, inputs)
    if book is None:
        return ()
    inputs.signal("delivered advance", None)  # what its logger filled is told as well
    return (*book.notes, *inputs.notes)
