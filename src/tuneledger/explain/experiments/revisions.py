"""Revisions that a log cannot tell apart: where a mild drive would."""

from collections.abc import Iterator, Sequence

import numpy as np

from tuneledger.arrays import FloatArray
from tuneledger.calibrations.model import (
    Axis,
    Calibration,
    Comparison,
    Correction,
    Part,
    Reading,
    Table,
)
from tuneledger.calibrations.model import readings as readings_of
from tuneledger.evaluate.replay import replay
from tuneledger.explain.experiments.choosing import beside, best_choices
from tuneledger.explain.experiments.controls import left_alone, options
from tuneledger.explain.experiments.model import Experiment
from tuneledger.explain.experiments.stretches import Stretches
from tuneledger.explain.finding import Finding
from tuneledger.explain.loading import differences
from tuneledger.explain.model import Running
from tuneledger.explain.sheets import LaidSheet, same_correction
from tuneledger.ledger.book import Book
from tuneledger.logs.model import Channel
from tuneledger.signals import SIGNALS
from tuneledger.units import conversion
from tuneledger.wording import listing, visible

_MOST_TOLD = 2  # as many as a sentence bears


def between_revisions(findings: Sequence[Finding], running: Running | None) -> Iterator[Experiment]:
    """The drive that tells the running revision from those that fit as well, if there are any."""
    if running is None or not running.twins or not findings[0].laid:
        return
    finding = findings[0]
    files = (running.best_file, *running.twins)
    sheets = [sheet for sheet in finding.laid if sheet.file in files]
    if len(sheets) < 2:
        return
    differing = _differing([sheet.calibration for sheet in sheets])
    book = finding.book
    names = [visible(sheet.revision) for sheet in sheets]
    tells = f"revision {names[0]} from {listing(names[1:], 'or')}"
    lacking = _lacking(sheets, differing)
    if not differing:
        return
    cuts = _cuts(book, differing)
    offered = [
        option
        for channel, numbers in cuts.items()
        for option in options(
            book,
            channel,
            numbers,
            timed=_timed(differing),
            sheets=[sheet.calibration for sheet in finding.laid],
        )
    ]
    alone = left_alone(book, [channel.name for channel in cuts], offered)

    def predict(stretches: Stretches) -> list[FloatArray]:
        given = [replay(sheet.calibration, stretches).delivered for sheet in sheets]
        return [one - given[0] for one in given]

    prior = np.full(len(sheets), 1.0 / len(sheets))
    chosen = best_choices(book, offered, predict, prior, alone)
    if chosen:
        yield Experiment(
            chosen[0].sentence(beside(chosen[0], offered, alone)), tells, round(chosen[0].bits, 2)
        )
    elif lacking:
        if not set(lacking) <= _asked_for(findings):
            yield Experiment(f"Log {listing(lacking)} on the next run.", tells, 0.0)
    else:
        why = f"No mild drive would tell {tells}"
        if alone:
            why = f"Turn no switch for this, only watch {listing(map(visible, alone))} for {tells}"
        yield Experiment(f"{why}{_where(findings, sheets)}.", tells, 0.0)


def _asked_for(findings: Sequence[Finding]) -> set[str]:
    """What is asked for already, since a suspicion hangs on it."""
    extras = (extra for finding in findings for extra in finding.extras)
    return {visible(need.what) for extra in extras for need in extra.needs}


def _where(findings: Sequence[Finding], sheets: Sequence[LaidSheet]) -> str:
    """Where two sheets differ, and what is left to do about it."""
    found = [one.what for one in differences(findings, sheets[1], sheets[0])]
    if len(sheets) > 2 or not found:
        return ": read the ECU back"
    more = f"; and {len(found) - _MOST_TOLD} more" if len(found) > _MOST_TOLD else ""
    return (
        ": read the ECU back. "
        f"{visible(sheets[1].revision)} against {visible(sheets[0].revision)}: "
        f"{'; '.join(found[:_MOST_TOLD])}{more}"
    )


def _differing(calibrations: Sequence[Calibration]) -> list[Part]:
    """The parts of any of the sheets that another has not, or has otherwise."""
    first, *others = calibrations
    out: list[Part] = []
    for other in others:
        if _cells(other.spark.map) != _cells(first.spark.map):
            out += [first.spark.map, other.spark.map]
        ids = dict.fromkeys(c.id for c in (*first.spark.correction, *other.spark.correction))
        for name in ids:
            one, two = first.spark.find(name), other.spark.find(name)
            if not same_correction(one, two):
                out += [part for part in (one, two) if part is not None and part.enabled]
    return out


def _cells(table: Table) -> tuple[object, ...]:
    return table.axes, table.values, table.amount


def _lacking(sheets: Sequence[LaidSheet], differing: Sequence[Part]) -> list[str]:
    """What the log lacks of the inputs of the corrections that differ."""
    ids = {part.id for part in differing if isinstance(part, Correction)}
    missing = (n for s in sheets for name in ids if name in s.parts for n in s.parts[name].missing)
    return list(dict.fromkeys(visible(name) for name in missing))


def _timed(parts: Sequence[Part]) -> bool:
    return any(
        reading.since is not None
        or (isinstance(reading, Comparison) and bool(reading.held or reading.linger))
        for part in parts
        for reading in readings_of(part)
    )


def _cuts(book: Book, parts: Sequence[Part]) -> dict[Channel, list[float]]:
    """Channel → the numbers, in the log's unit, at which the parts change their mind."""
    out: dict[Channel, list[float]] = {}
    for part in parts:
        for reading in readings_of(part):
            channel = _channel(book, reading)
            if channel is None or reading.minus or reading.over or reading.rate:
                continue
            numbers = out.setdefault(channel, [])
            numbers += [
                n for x in _numbers(reading) if (n := _logged(book, reading, x)) is not None
            ]
    return out


def _channel(book: Book, reading: Reading) -> Channel | None:
    if reading.signal is not None:
        role = book.roles.get(reading.signal)
        return role.channel if role else None
    return book.log.find(reading.channel) if reading.channel else None


def _numbers(reading: Reading) -> Iterator[float]:
    if isinstance(reading, Axis):
        yield from reading.at
    elif isinstance(reading, Comparison):
        yield from (x for x in (reading.above, reading.below, reading.release) if x is not None)
        yield from reading.between or ()


def _logged(book: Book, reading: Reading, number: float) -> float | None:
    """A number of a sheet as the log would have it."""
    if reading.signal is None:
        channel = _channel(book, reading)
        label = channel.unit if channel else ""
        turned = conversion(reading.unit, label) if reading.unit and label else (1.0, 0.0)
        return None if turned is None else turned[0] * number + turned[1]
    role, own = book.roles.get(reading.signal), SIGNALS[reading.signal].unit
    turned = conversion(reading.unit, own) if reading.unit and own else (1.0, 0.0)
    if role is None or turned is None:
        return None
    return (turned[0] * number + turned[1] - role.offset) / role.scale
