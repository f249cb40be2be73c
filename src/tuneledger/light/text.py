"""The timing-light answer for a terminal: what it says, what to do, the readings, the procedure."""

from collections.abc import Iterator

from tuneledger.light.fit import Fit
from tuneledger.light.says import CAUTION, PROCEDURE, do, interval, notes, says
from tuneledger.statement.paper import Line, Words, labelled, line, paragraph, printed, stacked
from tuneledger.wording import count, degrees, number, quantity

WIDEST, NARROWEST = 100, 40
_LABELS = 11
_MOST_ROWS = 16


def as_text(fit: Fit, *, width: int = 80, colour: bool = False) -> str:
    """The answer as text of at most `width` cells; plain where `colour` is off."""
    width = max(min(width, WIDEST), NARROWEST)
    ink = "stop" if fit.state == "correct" else "strong"
    sections = [
        paragraph(says(fit), width, ink),
        list(_facts(fit, width)),
        list(_readings(fit, width)),
        labelled("Do", [do(fit)], width, _LABELS),
        labelled("Notes", notes(fit), width, _LABELS),
        labelled("To read", [f"{i}. {step}" for i, step in enumerate(PROCEDURE, 1)], width, _LABELS)
        + labelled("Take care", [CAUTION], width, _LABELS),
    ]
    return printed(stacked(sections), colour)


def _facts(fit: Fit, width: int) -> Iterator[Line]:
    for label, value in found(fit):
        yield from labelled(label, [value], width, _LABELS)
    used = f"{count(fit.used, 'reading')} of {fit.readings.rpm.size}"
    speeds = f"{quantity(round(fit.low_rpm), 'rpm')} to {quantity(round(fit.top_rpm), 'rpm')}"
    columns = fit.readings.columns
    named = ", ".join(f"{columns[name]} ({name})" for name in ("rpm", "commanded", "observed"))
    yield from labelled(
        "Readings", [f"{fit.readings.file}, {used}, {speeds}; {named}"], width, _LABELS
    )


def found(fit: Fit) -> list[tuple[str, str]]:
    """What the readings come to, each with its name."""
    left = degrees(fit.residual_deg, 2, signed=False)
    return [
        ("Offset", f"{_known(fit.offset_deg, fit.offset_interval_deg)}; above 0: earlier"),
        ("Delay", f"{_delay(fit)}; above 0: later with speed"),
        ("Scatter", f"{left} about the line"),
    ]


def _known(value: float | None, ends: tuple[float, float] | None) -> str:
    if value is None:
        return "not known"
    if ends is None:
        return degrees(value, 2)
    return f"{degrees(value, 2)} (95 %: {interval(degrees(ends[0], 2), degrees(ends[1], 2))})"


def _delay(fit: Fit) -> str:
    if fit.delay_us is None:
        return "not known"
    text = _us(fit.delay_us)
    if fit.delay_interval_us is not None:
        low, high = fit.delay_interval_us
        text += f" (95 %: {interval(_us(low), _us(high))})"
    return text


def _us(value: float) -> str:
    return quantity(round(value), "µs", 6)


_COLUMNS = (("rpm", 7), ("commanded", 11), ("observed", 11), ("off by", 9), ("the line", 10))


def _readings(fit: Fit, width: int) -> Iterator[Line]:
    readings = fit.readings
    first = "Reading"
    room = max(len(first) + 1, 9)
    yield line(Words(first.ljust(room) + "".join(n.rjust(w) for n, w in _COLUMNS), "faint"))
    yield line(Words("─" * min(width, room + sum(w for _, w in _COLUMNS)), "faint"))
    shown = range(min(readings.rpm.size, _MOST_ROWS))
    for i in shown:
        at = readings.rpm[i]
        cells = (
            number(round(float(at)), 5),
            degrees(float(readings.commanded[i]), signed=False),
            degrees(float(readings.observed[i]), signed=False),
            degrees(float(readings.off[i])),
            degrees(float(fit.line.at(at))) if fit.line else "",
        )
        text = "".join(c.rjust(w) for c, (_, w) in zip(cells, _COLUMNS, strict=True))
        mark = "  left out" if fit.left_out[i] else ""
        yield line(f"{readings.rows[i]}".ljust(room), text, Words(mark, "more"))
    if readings.rpm.size > _MOST_ROWS:
        yield line(f"and {readings.rpm.size - _MOST_ROWS} more")
