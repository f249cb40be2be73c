"""Other advances and retards in the log, of which the account does not speak.

One channel is delivered advance, and only that one is held against scheduled. Where another
cylinder's stands elsewhere, or knock control takes what delivered does not show, silence would pass
for agreement.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from tuneledger.arrays import BoolArray, FloatArray
from tuneledger.explain.finding import Finding
from tuneledger.ledger.episodes import Run, rows_of, seconds, true_runs
from tuneledger.ledger.tolerance import local_change
from tuneledger.logs.model import Channel
from tuneledger.roles import words
from tuneledger.units import conversion, parse_unit
from tuneledger.wording import degrees
from tuneledger.wording import seconds as so_long

# Another advance of the same engine is where delivered is for most of the time.
_MOSTLY = 0.6
_LEAST_S = 0.3
_AT_REST = 0.5
_SHOWN = 0.8
_WIDEST_DEG = 60.0
_FEWEST = 10
# What is no nearer than this for half of a thin sample is no advance of this engine.
_NEAR_DEG, _NEARLY = 3.0, 0.5


@dataclass(frozen=True, slots=True)
class Bystander:
    """A channel of which the account does not speak.

    degrees: the furthest that it stands off delivered, or takes unseen; seconds: for how long
    says:    what it does, as a note
    """

    name: str
    degrees: float
    seconds: float
    says: str


def bystanders(findings: Sequence[Finding]) -> list[Bystander]:
    """All of them, each channel once, the one that is furthest off first."""
    found: dict[str, Bystander] = {}
    for finding in findings:
        for one in _in(finding):
            found.setdefault(one.name, one)
    return sorted(found.values(), key=lambda one: -abs(one.degrees))


def aside(findings: Sequence[Finding]) -> str:
    """A sentence for a headline that says nothing is wrong; empty where nothing stands aside."""
    found = bystanders(findings)
    if not found:
        return ""
    first = found[0]
    others = f", and {len(found) - 1} more" if len(found) > 1 else ""
    size = degrees(abs(first.degrees), signed=False)
    return f"Not compared: {first.name}, up to {size} off for {so_long(first.seconds)}{others}."


def _in(finding: Finding) -> Iterator[Bystander]:
    book = finding.book
    delivered = book.roles.by_signal["delivered advance"].channel.name
    spoken = {entry.channel for entry in finding.ledger.entries}
    for channel in book.log.channels:
        if channel.name in spoken or not _may_be_one(finding, channel):
            continue
        values = book.inputs.channel(channel.name, "deg" if channel.unit else None)
        if values is None:
            continue
        taken = words.says_part(channel.name)
        off = values if taken else values - book.delivered
        lasting = _lasting(finding, _unseen(finding, values) if taken else _apart(finding, values))
        if not lasting:
            continue
        rows = rows_of(lasting, values.size) & np.isfinite(off)
        far = float(off[rows][np.abs(off[rows]).argmax()])
        lasted = seconds(lasting, book.times, book.row_s)
        text = (
            f"{channel.name} goes to {degrees(far)}, for {so_long(lasted)} in all, and {delivered} "
            "does not show it: another cylinder's, or not applied; find out before any load"
            if taken
            else f"{channel.name} runs like an advance and was not compared: it stands up to "
            f"{degrees(far)} off {delivered}, for {so_long(lasted)} in all; name it as delivered "
            "in a roles file to have that explained"
        )
        yield Bystander(channel.name, far, lasted, text)


def _lasting(finding: Finding, rows: BoolArray) -> list[Run]:
    times = finding.book.times
    return [run for run in true_runs(rows) if times[run[1]] - times[run[0]] >= _LEAST_S]


def _may_be_one(finding: Finding, channel: Channel) -> bool:
    """Whether a channel without a role is in degrees, and of the size of an advance or a part."""
    book = finding.book
    if book.roles.of(channel) is not None:
        return False
    unit = parse_unit(channel.unit) if channel.unit else None
    if unit is not None and unit.kind != "angle":
        return False
    told = words.says_part(channel.name) or words.says_which_advance(channel.name)
    if unit is None and not told:
        return False
    sample = book.log.sample(channel)
    known = sample[np.isfinite(sample)]
    if known.size < _FEWEST or np.ptp(known) == 0 or np.abs(known).max() > _WIDEST_DEG:
        return False
    return words.says_part(channel.name) or _near_delivered(finding, channel, sample)


def _near_delivered(finding: Finding, channel: Channel, sample: FloatArray) -> bool:
    """Whether its thin sample lies mostly near delivered's: the whole of it is worth reading."""
    role = finding.book.roles.by_signal["delivered advance"]
    delivered = role.read(finding.book.log.sample(role.channel))
    scale, offset = conversion(channel.unit, "deg") or (1.0, 0.0)
    if delivered.size != sample.size:
        return True
    near = np.abs(scale * sample + offset - delivered) <= _NEAR_DEG
    return float(near.mean()) >= _NEARLY


def _apart(finding: Finding, values: FloatArray) -> BoolArray:
    """Where it departs from delivered, if it is where delivered is for most of the time."""
    book = finding.book
    apart = np.abs(values - book.delivered)
    spare = book.tolerance + book.slack + local_change(values)
    known = book.judged & np.isfinite(apart)
    if not known.any() or (apart <= spare)[known].mean() < _MOSTLY:
        return np.zeros(values.shape, dtype=np.bool_)
    return np.asarray(known & (apart > spare + book.tolerance))


def _unseen(finding: Finding, values: FloatArray) -> BoolArray:
    """Where a retard acts and delivered does not stand below scheduled for it."""
    book = finding.book
    known = book.judged & np.isfinite(values)
    acts = known & (np.abs(values) > book.tolerance)
    nowhere = np.zeros(values.shape, dtype=np.bool_)
    if not acts.any() or acts.sum() > _AT_REST * known.sum():
        return nowhere
    spare = book.tolerance + book.slack + local_change(values)
    shown = book.delivered - book.start <= spare - np.abs(values)
    return nowhere if shown[acts].mean() >= _SHOWN else np.asarray(acts & ~shown)
