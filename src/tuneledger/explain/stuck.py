"""A channel that never changes where a sheet reads it: a stuck sensor, or a value in its place.

The sheet is then worked out with one number all through, and what the ECU knew better is left over.
Only what moves in any drive is told: a gear, an idle target or the outside air may well stand.
"""

from collections.abc import Iterator, Sequence

import numpy as np

from tuneledger.arrays import FloatArray
from tuneledger.calibrations.model import Reading, readings
from tuneledger.explain.finding import Finding
from tuneledger.explain.frozen import shown_to_move
from tuneledger.explain.sheets import LaidSheet
from tuneledger.ledger.book import Book
from tuneledger.record import record
from tuneledger.roles.facts import lost_from
from tuneledger.roles.model import Role
from tuneledger.wording import listing, quantity, seconds

# Seconds of a drive in which each surely moves by a step of its logger. Judgement: a thermostat
# holds coolant and oil for minutes, intake air follows the throttle.
_MOVES_WITHIN_S = {
    "engine speed": 10.0,
    "manifold absolute pressure": 10.0,
    "engine load": 10.0,
    "throttle position": 10.0,
    "accelerator position": 10.0,
    "vehicle speed": 20.0,
    "intake air temperature": 45.0,
    "module voltage": 120.0,
    "engine coolant temperature": 600.0,
    "oil temperature": 600.0,
}
_SUSPECTED_S = {"intake air temperature": 20.0}
# A cold engine that is driven warms: long before a thermostat opens, coolant has moved.
_COLD_C, _WARMS_WITHIN_S = 60.0, 120.0
_DRIVEN_RPM = 1000.0  # above most idles: the engine is at work
# A sensor that is cut off, or short, reads its end: common practice, no source.
_COLDEST_C, _HOTTEST_C, _FEW_SAMPLES = -35.0, 140.0, 20


@record
class Stuck:
    """A role whose channel never changes; stands: at what, in words; read_by: what of the sheets
    reads it."""

    role: Role
    stands: str
    lasts_s: float
    read_by: tuple[str, ...]

    @property
    def looks(self) -> str:
        return f"it never changes ({self.stands}) in a drive of {seconds(self.lasts_s)}"

    @property
    def says(self) -> str:
        return (
            f"{self.role.channel.name} never changes ({self.stands}) in a drive of "
            f"{seconds(self.lasts_s)}, and {listing(self.read_by)} of the sheet reads it as "
            f"{self.role.signal}: a stuck sensor or a value put in its place would look so"
        )


def stuck(findings: Sequence[Finding]) -> list[str]:
    """A note on each channel that stands all through a drive and that a sheet reads."""
    notes = (
        f"{one.says}; what comes out of it is not to be trusted"
        for finding in findings
        for one in standing(finding.book, finding.laid)
    )
    return list(dict.fromkeys(notes))


def lost(findings: Sequence[Finding]) -> list[str]:
    """A note on each temperature that a sheet reads and that is lost on the way, where the account
    comes out with what it shows: the ECU saw no more than the log."""
    notes = (note for f in findings for note in _lost(f.book, f.laid))
    return list(dict.fromkeys(notes))


def _lost(book: Book, laid: Sequence[LaidSheet]) -> Iterator[str]:
    for signal, role in book.roles.by_signal.items():
        names = read_by(laid, signal) if signal.endswith("temperature") else []
        if not names or role.unsure is not None or not _may_be_lost(book, role):
            continue
        series = book.log.series(role.channel)
        row = lost_from(series.values)
        if row is None and series.values.size:
            row = _out_of_this_world(role.read(series.values))
        if row is not None:
            at, stands = seconds(float(series.times[row])), float(series.values[row])
            yield (
                f"{role.channel.name} leaps to {quantity(stands, role.channel.unit)} at {at} and "
                f"stands there, as a lost sensor reads; {listing(names)} of the sheet reads it as "
                f"{signal}: find out whether what protects by it still can"
            )


def _may_be_lost(book: Book, role: Role) -> bool:
    thin = book.log.sample(role.channel)
    return lost_from(thin) is not None or _out_of_this_world(role.read(thin)) is not None


def _out_of_this_world(degc: FloatArray) -> int | None:
    """The row from which a temperature stands to the end where none of an engine that runs is."""
    known = np.flatnonzero(np.isfinite(degc))
    if known.size < _FEW_SAMPLES or _COLDEST_C < degc[known[-1]] < _HOTTEST_C:
        return None
    since = np.flatnonzero(degc[known] != degc[known[-1]])
    first = 0 if not since.size else int(since[-1]) + 1
    return int(known[first]) if known.size - first >= _FEW_SAMPLES else None


def standing(book: Book, laid: Sequence[LaidSheet], *, suspected: bool = False) -> Iterator[Stuck]:
    """Every channel that stands all through a drive and that a sheet reads.

    suspected: the account does not come out, so that less than usual makes it doubtful
    """
    lasts = float(np.ptp(book.times)) if book.times.size else 0.0
    within_s = _MOVES_WITHIN_S | (_SUSPECTED_S if suspected else {})
    for signal, within in within_s.items():
        role, names = book.roles.get(signal), read_by(laid, signal)
        if role is None or not names:
            continue
        values = book.log.values(role.channel)
        own = values[np.isfinite(values)]
        if own.size < 2 or own.min() < own.max() or not _driven(book, role):
            continue
        cold = signal == "engine coolant temperature" and float(role.read(own[:1])[0]) < _COLD_C
        long_enough = lasts >= (_WARMS_WITHIN_S if cold else within)
        if not long_enough and not (suspected and shown_to_move(book, laid, signal)):
            continue
        stands = quantity(float(own[0]), role.channel.unit)
        yield Stuck(role, stands, lasts, tuple(names))


def _driven(book: Book, stands: Role) -> bool:
    """Whether engine speed moves as in a drive; where it is what stands, whether delivered does."""
    if stands.signal == "engine speed":
        return float(np.nanmax(book.delivered) - np.nanmin(book.delivered)) > 5.0
    return turns_up_and_down(book.inputs.signal("engine speed", "rpm"))


def turns_up_and_down(speed: FloatArray | None) -> bool:
    """Whether engine speed moves as in a drive."""
    if speed is None or not np.isfinite(speed).any():
        return False
    return float(np.nanmax(speed) - np.nanmin(speed)) > _DRIVEN_RPM


def read_by(laid: Sequence[LaidSheet], signal: str) -> list[str]:
    """What of the sheets reads a signal: the map, and corrections that are switched on."""
    return list(dict.fromkeys(name for name, _ in reading(laid, signal)))


def reading(laid: Sequence[LaidSheet], signal: str) -> Iterator[tuple[str, Reading]]:
    """(the map, or what a correction is called; the reading) wherever a signal is read."""
    for sheet in laid:
        spark = sheet.calibration.spark
        parts = [("the map", spark.map), *((c.called, c) for c in spark.correction if c.enabled)]
        for name, part in parts:
            for one in readings(part):
                if signal in (one.signal, one.minus, one.over):
                    yield name, one
