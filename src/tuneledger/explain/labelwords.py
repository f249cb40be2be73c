"""The cause `sign` or `unit` in words: what a mislabelled channel would make seem, and what to do.

Imported where there is such a cause, which is seldom.
"""

from collections.abc import Iterator, Sequence

import numpy as np

from tuneledger.arrays import FloatArray
from tuneledger.explain.finding import Finding
from tuneledger.explain.mislabelled import (
    DELIVERED,
    MAP,
    SCHEDULED,
    Apart,
    as_labelled,
    label_of,
)
from tuneledger.explain.model import Cause, Kind, Point
from tuneledger.roles.model import Role
from tuneledger.signals import SIGNALS
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

# How `roles` words that a sheet settled the unit.
_BY_SHEET = "of the sheet come out as delivered"
_NAMES = {MAP: "the map", "limit": "the limits"}


def label_causes(channels: Sequence[Sequence[Apart]]) -> list[Cause]:
    """One cause per channel, over the logs in which it decides something."""
    return [_cause(where) for where in channels]


def _cause(where: Sequence[Apart]) -> Cause:
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


def _if_labelled_rightly(where: Sequence[Apart]) -> Iterator[str]:
    """The rival, where only a sheet speaks for the other unit: the ECU does not do as it says."""
    names = dict.fromkeys(name for one in where for name in one.touched)
    if names and any(_BY_SHEET in text for text in where[0].role.why):
        called = listing(_called(where[0].finding, name) for name in names)
        yield (
            f"only the sheet shows the other unit: if the label is right, the ECU does not run "
            f"{called} as the sheet has it"
        )


def _says(where: Sequence[Apart], values: FloatArray, lasted: float) -> str:
    one = where[0]
    name, label = one.role.channel.name, label_of(one.finding, one.role)
    low, high = float(values.min()), float(values.max())
    mean = degrees(float(values.mean()))
    amount = mean if high - low < 0.2 * max(abs(low), abs(high)) else degree_span(low, high)
    what = {SCHEDULED: "scheduled", DELIVERED: "delivered"}.get(one.role.signal)
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


def _evidence(where: Sequence[Apart]) -> Iterator[str]:
    role = where[0].role
    numbers = np.concatenate([_numbers(one) for one in where])
    if numbers.size:
        low, high = np.quantile(numbers, [0.02, 0.98])
        own = as_labelled(role, label_of(where[0].finding, role))
        unit = SIGNALS[role.signal].unit
        wrong = sorted(own.scale * x + own.offset for x in (low, high))
        right = sorted(role.scale * x + role.offset for x in (low, high))
        yield (
            f"read as labelled it runs from {number(wrong[0])} to {quantity(wrong[1], unit)}, "
            f"read so from {number(right[0])} to {quantity(right[1], unit)}"
        )
    yield from (text for text in role.why if _BY_SHEET in text)


def _numbers(one: Apart) -> FloatArray:
    numbers = one.finding.book.log.sample(one.role.channel)
    return numbers[np.isfinite(numbers)]
