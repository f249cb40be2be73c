"""Other advances and retards in the log, of which the account does not speak.

One channel is delivered advance, and only that one is held against scheduled. Where another
cylinder's stands elsewhere, or knock control takes what delivered does not show, silence would pass
for agreement.
"""

import re
from collections.abc import Iterator, Sequence
from weakref import WeakKeyDictionary

import numpy as np

from tuneledger.arrays import BoolArray, FloatArray
from tuneledger.explain.finding import Finding
from tuneledger.explain.ownpart import OwnPart, own_part
from tuneledger.ledger.episodes import Run, rows_of, seconds, true_runs
from tuneledger.ledger.tolerance import local_change
from tuneledger.logs.model import Channel
from tuneledger.record import record
from tuneledger.roles import words
from tuneledger.units import conversion, parse_unit
from tuneledger.wording import degrees
from tuneledger.wording import seconds as so_long

# Another advance of the same engine is where delivered is for most of the time.
_MOSTLY = 0.6
_LEAST_S = 0.3
_AT_REST = 0.5  # of the rows: what acts in more has no rest to be compared with, judgement
_SHOWN = 0.8  # of the rows in which it acts, delivered has to show it: judgement
_WIDEST_DEG = 60.0  # of either sign: no ignition goes further (SAE J1979 shows up to 63.5°)
_FEWEST = 10  # rows: fewer show nothing, judgement
# What is no nearer than this for half of a thin sample is no advance of this engine.
_NEAR_DEG, _NEARLY = 3.0, 0.5
# One cylinder's advance stands no further off another's on the whole: common practice, no source.
_WIDEST_TRIM_DEG = 12.0
_NUMBERS = re.compile(r"\d+")

# Headline, notes and verdict ask for them; forgotten as soon as nobody holds the finding.
_KNOWN: "WeakKeyDictionary[Finding, tuple[Bystander, ...]]" = WeakKeyDictionary()


@record
class Bystander:
    """A channel of which the account does not speak.

    degrees: the furthest that it stands off delivered, or takes unseen; seconds: for how long
    says:    what it does, as a note
    mean:    degrees off delivered on average, while it is
    cylinder: it is the advance of another cylinder
    raises:  that stands above scheduled under load by more than the tolerance
    part:    what the log carries of it: a channel that moves as this one stands off delivered
    """

    name: str
    degrees: float
    seconds: float
    says: str
    mean: float = 0.0
    cylinder: bool = False
    raises: bool = False
    part: OwnPart | None = None


def bystanders(findings: Sequence[Finding]) -> list[Bystander]:
    """All of them, each channel once, the one that is furthest off first."""
    found: dict[str, Bystander] = {}
    for finding in findings:
        if finding not in _KNOWN:
            _KNOWN[finding] = tuple(_in(finding))
        for one in _KNOWN[finding]:
            found.setdefault(one.name, one)
    return sorted(found.values(), key=lambda one: -abs(one.degrees))


def aside(found: Sequence[Bystander]) -> str:
    """A sentence for a headline that does not speak of them; empty where there is none."""
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
        taken, cylinder = words.says_part(channel.name), _of_a_cylinder(channel.name, delivered)
        if cylinder:
            off = _off_its_twin(finding, values)
            rows = _beside(finding, off, values)
        else:
            off = values if taken else values - book.delivered
            rows = _unseen(finding, values) if taken else _apart(finding, values)
        lasting = _lasting(finding, rows)
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
        above = rows & book.regimes.load & (book.delivered + off - book.start > book.tolerance)
        raises = bool(cylinder and (above & (off > 0)).any())
        part = own_part(book, channel.name, off, rows) if cylinder else None
        mean = float(off[rows].mean())
        yield Bystander(channel.name, far, lasted, text, mean, cylinder, raises, part)


def _of_a_cylinder(name: str, delivered: str) -> bool:
    """Whether a channel is the advance of another cylinder than delivered's, or than the mean."""
    if words.says_part(name) or words.says_other_kind(name):
        return False
    return words.says_cylinder(name) or _bare(name) == _bare(delivered)


def _bare(name: str) -> str:
    """A name without its numbers: those of cylinders differ in nothing else."""
    return _NUMBERS.sub("#", name.casefold())


def _off_its_twin(finding: Finding, values: FloatArray) -> FloatArray:
    """How far a cylinder's advance stands off delivered: both as logged, and so equally late."""
    role = finding.book.roles.by_signal["delivered advance"]
    delivered = finding.book.inputs.signal("delivered advance", "deg")
    assert delivered is not None  # or there would be no book
    return np.asarray((-1.0 if role.scale < 0 else 1.0) * values - delivered)


def _beside(finding: Finding, off: FloatArray, values: FloatArray) -> BoolArray:
    """Where a cylinder's advance stands off delivered, throughout or for a time."""
    book = finding.book
    known = book.judged & np.isfinite(off)
    if not known.any() or abs(float(np.median(off[known]))) > _WIDEST_TRIM_DEG:
        return np.zeros(off.shape, dtype=np.bool_)
    return np.asarray(known & (np.abs(off) > 2.0 * book.tolerance + local_change(values)))


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
    delivered = book.roles.by_signal["delivered advance"].channel.name
    cylinder = _of_a_cylinder(channel.name, delivered)
    told = words.says_part(channel.name) or words.says_which_advance(channel.name)
    if unit is None and not told and not cylinder:
        return False
    sample = book.log.sample(channel)
    known = sample[np.isfinite(sample)]
    if known.size < _FEWEST or np.ptp(known) == 0 or np.abs(known).max() > _WIDEST_DEG:
        return False
    if words.says_part(channel.name) or cylinder:
        return True
    return _near_delivered(finding, channel, sample)


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
