"""Which channels prove a cause, and where its thresholds lie on them, in the log's own units."""

import math
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from tuneledger.calibrations.model import Axis, Comparison, Correction, Reading, readings
from tuneledger.explain.model import Cause, Curve
from tuneledger.logs.model import Channel
from tuneledger.record import record
from tuneledger.roles.model import Role
from tuneledger.signals import SIGNALS
from tuneledger.statement.model import LogAccount, SuppliedSheet
from tuneledger.units import conversion
from tuneledger.wording import degrees

NUMBER = "{}"
_SIDES = ("above", "below")
_POINTS = 6  # of a table, drawn at most


@record
class Line:
    """A threshold in the channel's unit; `side`: "above", "below" or "" where it has none.

    says: what it means in a word or two; `{}` stands for the number with its unit
    """

    at: float
    side: str
    says: str


@record
class Proof:
    """A channel that bears a cause out, with what of the cause is drawn on its strip."""

    channel: Channel
    lines: tuple[Line, ...] = ()


def proofs(cause: Cause, books: LogAccount, sheets: tuple[SuppliedSheet, ...]) -> list[Proof]:
    """The channels of one log that speak for or against a cause, the most telling first.

    They come from the rule, the correction as the sheet has it, the evidence, and last from the
    rules that fit as well. A name that this log does not carry is left out.
    """
    found: dict[Channel, list[Line]] = {}
    for channel, line in (
        *_of_rule(cause, books),
        *_of_sheet(cause, books, sheets),
        *_of_evidence(cause, books),
        *_of_alternatives(cause, books),
    ):
        lines = found.setdefault(channel, [])
        if line is not None and all(abs(line.at - known.at) > 1e-9 for known in lines):
            lines.append(line)
    for point in cause.evidence:  # a condition knows its unit and its side: it goes before
        shown = books.log.find(point.channel) if point.channel else None
        if shown is not None and point.threshold is not None and not found[shown]:
            at = point.threshold
            found[shown].append(Line(at, "", NUMBER))
    return [Proof(channel, tuple(lines)) for channel, lines in found.items()]


_Found = Iterator[tuple[Channel, Line | None]]


def _of_rule(cause: Cause, books: LogAccount) -> _Found:
    for terms in cause.rule.when if cause.rule else ():
        yield from _of_terms(terms, books)
    along = cause.rule.along if cause.rule else None
    channel = books.log.find(along.channel) if along else None
    if along is not None and channel is not None:
        yield channel, None
        for line in _of_rule_curve(along):
            yield channel, line
    channel = books.log.find(cause.channel) if cause.channel else None
    if channel is not None:
        yield channel, None


def _of_evidence(cause: Cause, books: LogAccount) -> _Found:
    for point in cause.evidence:
        channel = books.log.find(point.channel) if point.channel else None
        if channel is not None:
            yield channel, None


def _of_alternatives(cause: Cause, books: LogAccount) -> _Found:
    for rule in cause.alternatives:
        for terms in rule.when:
            yield from _of_terms(terms, books)
        channel = books.log.find(rule.along.channel) if rule.along else None
        if channel is not None:
            yield channel, None


def _of_terms(terms: Mapping[str, Any], books: LogAccount) -> _Found:
    """A condition on the log's own names: its channels, with a line where a number is given."""
    for inner in terms.get("any", ()):
        yield from _of_terms(inner, books)
    names = [terms[key] for key in ("channel", "minus", "over") if terms.get(key)]
    plain = len(names) == 1 and not terms.get("rate")
    for name in names:
        channel = books.log.find(str(name))
        if channel is None:
            continue
        yield channel, None
        for line in _lines(terms, 1.0, 0.0) if plain else ():
            yield channel, line
    if isinstance(terms.get("since"), Mapping):
        yield from _of_terms(terms["since"], books)


def _of_sheet(cause: Cause, books: LogAccount, sheets: tuple[SuppliedSheet, ...]) -> _Found:
    correction = _correction(cause, sheets)
    if correction is None:
        return
    logged = books.log.find(correction.logged_as) if correction.logged_as else None
    if logged is not None:
        yield logged, None
    # A condition says more than the points of a table: it goes first.
    for reading in sorted(readings(correction), key=lambda r: isinstance(r, Axis)):
        plain = not (reading.minus or reading.over or reading.rate)
        for name in (reading.channel or reading.signal, reading.minus, reading.over):
            role = _role(name, reading, books) if name else None
            if role is None:
                continue
            yield role.channel, None
            if not plain:
                continue
            scale, offset = _to_channel(role, reading)
            if isinstance(reading, Comparison):
                for line in _lines(reading.given, scale, offset):
                    yield role.channel, line
            elif correction.axes == (reading,):
                for at, deg in _bends(correction.axes[0].at, correction.grid.tolist()):
                    says = f"{NUMBER}: {degrees(deg, signed=correction.effect == 'add')}"
                    yield role.channel, Line(at * scale + offset, "", says)


def _bends(at: Sequence[float], deg: Sequence[float]) -> list[tuple[float, float]]:
    """The points of a table at which it goes another way than before, or is at its end."""
    last = len(at) - 1
    kept = []
    for i, (x, y) in enumerate(zip(at, deg, strict=True)):
        flat_before = i == 0 or deg[i - 1] == y
        flat_after = i == last or deg[i + 1] == y
        straight = 0 < i < last and math.isclose(
            (y - deg[i - 1]) * (at[i + 1] - x), (deg[i + 1] - y) * (x - at[i - 1])
        )
        if not (flat_before and flat_after) and not straight and math.isfinite(y):
            kept.append((x, y))
    return kept[:_POINTS]


def _of_rule_curve(curve: Curve) -> list[Line]:
    return [Line(x, "", f"{NUMBER}: {degrees(y)}") for x, y in _bends(curve.at, curve.deg)]


def _correction(cause: Cause, sheets: tuple[SuppliedSheet, ...]) -> Correction | None:
    for sheet in sheets if cause.correction else ():
        named = cause.revision in (None, sheet.calibration.revision)
        if sheet.file == cause.file or (cause.file is None and named):
            return sheet.calibration.spark.find(cause.correction or "")
    return None


def _role(name: str, reading: Reading, books: LogAccount) -> Role | None:
    """The role of a signal, or of a channel named outright, read in its own unit."""
    if reading.channel is None or name != reading.channel:
        role = books.roles.get(name)
        if role is not None:
            return role
    channel = books.log.find(name)
    return Role(name, channel, channel.unit) if channel is not None else None


def _to_channel(role: Role, reading: Reading) -> tuple[float, float]:
    """(scale, offset) from the sheet's number to the channel's number."""
    own = SIGNALS[role.signal].unit if role.signal in SIGNALS else role.unit
    scale, offset = (conversion(reading.unit, own) if reading.unit else None) or (1.0, 0.0)
    return scale / role.scale, (offset - role.offset) / role.scale


def _lines(terms: Mapping[str, Any], scale: float, offset: float) -> Iterator[Line]:
    """The lines of one comparison, on a channel whose number is scale · threshold + offset."""

    def line(value: float, side: str, word: str) -> Line:
        turned = side if scale > 0 or side not in _SIDES else _SIDES[1 - _SIDES.index(side)]
        return Line(value * scale + offset, turned, f"{word or turned} {NUMBER}".strip())

    for side in _SIDES:
        if side in terms:
            yield line(float(terms[side]), side, "")
    if "between" in terms:
        low, high = terms["between"]
        yield line(float(low), "above", "from")
        yield line(float(high), "below", "to")
    state = terms.get("is")
    if state in ("on", "off") or state in (0, 1):
        on = state in ("on", 1)
        yield Line(0.5, "above" if on else "below", "on" if on else "off")
    elif isinstance(state, int | float):
        yield line(float(state), "", "is")
    if terms.get("release") is not None:
        yield line(float(terms["release"]), "", "until past")
