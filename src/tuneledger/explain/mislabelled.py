"""A channel whose numbers are not what its label says, as the cause `sign` or `unit`.

It is read as what it is, so that it moves nothing in the account. It is a cause all the same where
whoever goes by the label sees a difference that is none: the account is drawn up both ways, and the
degrees and seconds by which the two part are the cause's. Where they do not part (no sheet reads
the channel, or not where the car drove) it stays a note.
"""

from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np

from tuneledger.arrays import FloatArray
from tuneledger.evaluate.replay import map_advance, replay
from tuneledger.explain.finding import Finding
from tuneledger.explain.model import Cause
from tuneledger.ledger.episodes import true_runs
from tuneledger.record import record
from tuneledger.roles.inputs import LogInputs
from tuneledger.roles.model import Role, Roles
from tuneledger.signals import SIGNALS
from tuneledger.units import conversion, parse_unit
from tuneledger.units.topdead import counts_after

SCHEDULED, DELIVERED = "scheduled advance", "delivered advance"
# Less than this decides nothing: a glitch, judgement.
_LEAST_S = 0.3
_FEWEST_ROWS = 3
MAP = "other-map"


@record(eq=False)
class Apart:
    """What one log shows of a mislabelled channel: by how much the account would be off.

    values:  in the rows in which it would, degrees
    touched: what of the sheet would come out otherwise
    """

    finding: Finding
    role: Role
    values: FloatArray
    touched: tuple[str, ...]

    @property
    def seconds(self) -> float:
        book = self.finding.book
        return float(self.values.size) * book.row_s / max(float(book.own.mean()), 1e-9)


def mislabelled(findings: Sequence[Finding]) -> list[list[Apart]]:
    """Every channel that had to be read against its label, where that decides something: what each
    log shows of it."""
    found: dict[tuple[str, str], list[Apart]] = {}
    for finding in findings:
        for one in _of(finding):
            key = (str(one.role.relabelled), one.role.channel.name)
            found.setdefault(key, []).append(one)
    return list(found.values())


def car_first(causes: Sequence[Cause]) -> list[Cause]:
    """What the car did before what its logger wrote: a headline is for whoever drives."""
    return sorted(causes, key=lambda cause: cause.kind in ("sign", "unit"))


def _of(finding: Finding) -> Iterator[Apart]:
    roles = finding.book.roles
    for role in roles.by_signal.values():
        if role.relabelled is None or _says_so(role):
            continue
        values, touched = (
            _of_advance(finding, role)
            if role.signal in (SCHEDULED, DELIVERED)
            else _of_input(finding, role)
        )
        rows = finding.book.judged & (np.abs(np.nan_to_num(values)) > finding.book.tolerance)
        runs = true_runs(rows)
        longest = max((b - a + 1 for a, b in runs), default=0)
        one = Apart(finding, role, values[rows], touched)
        if longest >= _FEWEST_ROWS and one.seconds >= _LEAST_S:
            yield one


def _says_so(role: Role) -> bool:
    """Whether a turned advance is labelled as one: counted after top dead centre."""
    return role.relabelled == "sign" and counts_after(f"{role.channel.header} {role.channel.unit}")


def as_labelled(role: Role, label: str) -> Role:
    """The channel read as its label and its name say."""
    if role.relabelled == "sign":
        return replace(role, scale=-role.scale, offset=-role.offset)
    unit = parse_unit(label)
    plain = conversion(unit.symbol, SIGNALS[role.signal].unit) if unit else None
    scale, offset = plain or ((unit.factor, 0.0) if unit else (1.0, 0.0))
    return replace(role, unit=label, scale=scale, offset=offset)


def label_of(finding: Finding, role: Role) -> str:
    """The unit that the log, or whoever was asked, states for the channel."""
    return finding.book.roles.units.get(role.channel.name, role.channel.unit)


def _of_advance(finding: Finding, role: Role) -> tuple[FloatArray, tuple[str, ...]]:
    """By how much more delivered would depart, or scheduled from the map, with both as labelled."""
    book = finding.book
    labelled = {
        r.signal: as_labelled(r, label_of(finding, r))
        for r in book.roles.by_signal.values()
        if r.relabelled is not None
    }

    def reread(values: FloatArray, signal: str) -> FloatArray:
        if signal not in labelled:
            return values
        own = book.roles.by_signal[signal]
        return labelled[signal].read((values - own.offset) / own.scale)

    start = book.start if book.scheduled is None else reread(book.start, SCHEDULED)
    delivery = (reread(book.delivered, DELIVERED) - start) - (book.delivered - book.start)
    if role.signal == SCHEDULED and finding.laid:
        return reread(book.start, SCHEDULED) - book.start, ()
    return delivery, ()


def _of_input(finding: Finding, role: Role) -> tuple[FloatArray, tuple[str, ...]]:
    """By how much more would be left over of what the sheet says, with the channel as labelled."""
    book = finding.book
    sheet = finding.account.sheet or (finding.laid[0] if finding.laid else None)
    if sheet is None:
        return np.zeros(book.times.shape), ()
    labelled = as_labelled(role, label_of(finding, role))
    other = Roles({**book.roles.by_signal, role.signal: labelled}, units=book.roles.units)
    start = book.scheduled
    elsewhere = LogInputs(book.log, other, book.times)
    here, there = (
        replay(sheet.calibration, inputs, start=start) for inputs in (book.inputs, elsewhere)
    )
    parts = {
        name: entry - there.entries[name]
        for name, entry in here.entries.items()
        if name in there.entries
    }
    parts[MAP] = (
        here.scheduled - there.scheduled
        if start is None
        else sheet.map_values - map_advance(sheet.calibration, elsewhere)[0]
    )
    touched = [name for name, part in parts.items() if _beyond(part, finding)]
    out = np.zeros(book.times.shape)
    for name in touched:
        out += np.nan_to_num(parts[name])
    return out, tuple(touched)


def _beyond(part: FloatArray, finding: Finding) -> bool:
    book = finding.book
    return bool((np.abs(np.nan_to_num(part))[book.judged] > book.tolerance).any())
