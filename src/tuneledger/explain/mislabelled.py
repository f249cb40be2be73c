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
from tuneledger.explain.model import Cause, Kind, Point
from tuneledger.ledger.episodes import true_runs
from tuneledger.record import record
from tuneledger.roles.inputs import LogInputs
from tuneledger.roles.model import Role, Roles
from tuneledger.signals import SIGNALS
from tuneledger.units import conversion, parse_unit
from tuneledger.units.topdead import counts_after
from tuneledger.wording import (
    degree_span,
    degrees,
    listing,
    number,
    numbers_of,
    quantity,
    seconds,
    unit_words,
)

_SCHEDULED, _DELIVERED = "scheduled advance", "delivered advance"
_LEAST_S = 0.3
_FEWEST_ROWS = 3
_MAP = "other-map"
_BY_SHEET = "of the sheet come out as delivered"
_NAMES = {_MAP: "the map", "limit": "the limits"}


@record(eq=False)
class _Apart:
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


def label_causes(findings: Sequence[Finding]) -> list[Cause]:
    """One cause per channel that had to be read against its label, where that decides something."""
    found: dict[tuple[str, str], list[_Apart]] = {}
    for finding in findings:
        for one in _of(finding):
            key = (str(one.role.relabelled), one.role.channel.name)
            found.setdefault(key, []).append(one)
    return [_cause(where) for where in found.values()]


def car_first(causes: Sequence[Cause]) -> list[Cause]:
    """What the car did before what its logger wrote: a headline is for whoever drives."""
    return sorted(causes, key=lambda cause: cause.kind in ("sign", "unit"))


def _of(finding: Finding) -> Iterator[_Apart]:
    roles = finding.book.roles
    for role in roles.by_signal.values():
        if role.relabelled is None or _says_so(role):
            continue
        values, touched = (
            _of_advance(finding, role)
            if role.signal in (_SCHEDULED, _DELIVERED)
            else _of_input(finding, role)
        )
        rows = finding.book.judged & (np.abs(np.nan_to_num(values)) > finding.book.tolerance)
        runs = true_runs(rows)
        longest = max((b - a + 1 for a, b in runs), default=0)
        one = _Apart(finding, role, values[rows], touched)
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


def _label(finding: Finding, role: Role) -> str:
    return finding.book.roles.units.get(role.channel.name, role.channel.unit)


def _of_advance(finding: Finding, role: Role) -> tuple[FloatArray, tuple[str, ...]]:
    """By how much more delivered would depart, or scheduled from the map, with both as labelled."""
    book = finding.book
    labelled = {
        r.signal: as_labelled(r, _label(finding, r))
        for r in book.roles.by_signal.values()
        if r.relabelled is not None
    }

    def reread(values: FloatArray, signal: str) -> FloatArray:
        if signal not in labelled:
            return values
        own = book.roles.by_signal[signal]
        return labelled[signal].read((values - own.offset) / own.scale)

    start = book.start if book.scheduled is None else reread(book.start, _SCHEDULED)
    delivery = (reread(book.delivered, _DELIVERED) - start) - (book.delivered - book.start)
    if role.signal == _SCHEDULED and finding.laid:
        return reread(book.start, _SCHEDULED) - book.start, ()
    return delivery, ()


def _of_input(finding: Finding, role: Role) -> tuple[FloatArray, tuple[str, ...]]:
    """By how much more would be left over of what the sheet says, with the channel as labelled."""
    book = finding.book
    sheet = finding.account.sheet or (finding.laid[0] if finding.laid else None)
    if sheet is None:
        return np.zeros(book.times.shape), ()
    labelled = as_labelled(role, _label(finding, role))
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
    parts[_MAP] = (
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


def _cause(where: Sequence[_Apart]) -> Cause:
    role = where[0].role
    values = np.concatenate([one.values for one in where])
    lasted = sum(one.seconds for one in where)
    kind: Kind = "sign" if role.relabelled == "sign" else "unit"
    return Cause(
        rank=0,
        kind=kind,
        correction=None,
        revision=None,
        channel=role.channel.name,
        degrees=float(values.mean()),
        seconds=lasted,
        certainty=min(one.role.certainty for one in where),
        expected=False,
        says=_says(where, values, lasted),
        next_step=_next_step(role),
        evidence=(
            *(Point("for", text, role.channel.name) for text in _evidence(where)),
            *(Point("against", text, role.channel.name) for text in _if_labelled_rightly(where)),
        ),
    )


def _if_labelled_rightly(where: Sequence[_Apart]) -> Iterator[str]:
    """The rival, where only a sheet speaks for the other unit: the ECU does not do as it says."""
    names = dict.fromkeys(name for one in where for name in one.touched)
    if names and any(_BY_SHEET in text for text in where[0].role.why):
        called = listing(_called(where[0].finding, name) for name in names)
        yield (
            f"only the sheet shows the other unit: if the label is right, the ECU does not run "
            f"{called} as the sheet has it"
        )


def _says(where: Sequence[_Apart], values: FloatArray, lasted: float) -> str:
    one = where[0]
    name, label = one.role.channel.name, _label(one.finding, one.role)
    low, high = float(values.min()), float(values.max())
    mean = degrees(float(values.mean()))
    amount = mean if high - low < 0.2 * max(abs(low), abs(high)) else degree_span(low, high)
    what = {_SCHEDULED: "scheduled", _DELIVERED: "delivered"}.get(one.role.signal)
    if one.role.relabelled == "sign":
        return (
            f"The channel {name} is written with its sign turned round: read as it stands, {what} "
            f"would seem off by {amount} for {seconds(lasted)}."
        )
    numbers = f"is labelled {unit_words(label)}, but its numbers are those of "
    numbers += numbers_of(one.role.unit)
    if what is not None:
        return (
            f"The channel {name} {numbers}: read as labelled, {what} would seem off by {amount} "
            f"for {seconds(lasted)}."
        )
    touched = list(dict.fromkeys(name for part in where for name in part.touched))
    names = listing(_called(one.finding, name) for name in touched)
    verb = "comes" if len(touched) == 1 else "come"
    return (
        f"The channel {name} {numbers}: read as labelled, {names} {verb} out otherwise, by "
        f"{amount} for {seconds(lasted)}."
    )


def _called(finding: Finding, name: str) -> str:
    sheet = finding.account.sheet or finding.laid[0]
    correction = sheet.correction(name)
    return correction.called if correction else _NAMES.get(name, name)


def _next_step(role: Role) -> str:
    if role.relabelled == "sign":
        return (
            "Have it logged as degrees before top dead centre, earlier positive; until then it is "
            "read with its sign turned."
        )
    return (
        "Put the label right where the log is made, or state it in a roles file: [units] "
        f'"{role.channel.name}" = "{role.unit}".'
    )


def _evidence(where: Sequence[_Apart]) -> Iterator[str]:
    role = where[0].role
    numbers = np.concatenate([_numbers(one) for one in where])
    if numbers.size:
        low, high = np.quantile(numbers, [0.02, 0.98])
        own = as_labelled(role, _label(where[0].finding, role))
        unit = SIGNALS[role.signal].unit
        wrong = sorted(own.scale * x + own.offset for x in (low, high))
        right = sorted(role.scale * x + role.offset for x in (low, high))
        yield (
            f"read as labelled it runs from {number(wrong[0])} to {quantity(wrong[1], unit)}, "
            f"read so from {number(right[0])} to {quantity(right[1], unit)}"
        )
    yield from (text for text in role.why if _BY_SHEET in text)


def _numbers(one: _Apart) -> FloatArray:
    numbers = one.finding.book.log.sample(one.role.channel)
    return numbers[np.isfinite(numbers)]
