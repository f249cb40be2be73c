"""The timing-light answer as one sheet of paper: what it says, the fit, the readings."""

import numpy as np

from tuneledger.light.fit import Fit
from tuneledger.light.says import CAUTION, PROCEDURE, do, notes, says
from tuneledger.light.text import found
from tuneledger.pages.figure import Frame, span
from tuneledger.pages.names import name_of, text_of
from tuneledger.pages.still import listed, still
from tuneledger.pages.tag import Markup, table, tag
from tuneledger.wording import degrees, number, sentence

_MOST_ROWS = 30


def light_page(fit: Fit) -> str:
    """The complete HTML."""
    name = name_of(fit.readings.file)
    head = tag(
        "header",
        tag("p", "Timing light", cls="what"),
        tag("p", f"{name}, {fit.used} of {fit.readings.rpm.size} readings", cls="sources"),
        tag("h1", text_of(says(fit))),
        tag("p", tag("b", "Do: "), text_of(do(fit)), cls="stop"),
    )
    return still(
        f"{name}: timing light",
        head,
        _figure(fit),
        tag(
            "section",
            tag("h2", "Found"),
            table(
                ["", "With its interval at 95 %"],
                [[name, text_of(value)] for name, value in found(fit)],
            ),
        ),
        _readings(fit),
        listed("Notes", [sentence(text_of(note)) for note in notes(fit)]),
        listed("To read", list(PROCEDURE), numbered=True),
        listed("Cautions", [CAUTION]),
    )


def _figure(fit: Fit) -> Markup:
    """Observed − commanded over speed: readings, the line, and where the line lies at 95 %."""
    readings, kept = fit.readings, ~fit.left_out
    x = np.linspace(0.0, float(readings.rpm.max()) * 1.05, 60)
    zero = np.zeros(1)
    if fit.line is None or not fit.line.freedom:
        frame = Frame((0.0, float(x[-1])), span([readings.off, zero]), "rpm", "degrees")
        return frame.drawn("Readings", frame.dots(readings.rpm, readings.off, "dot"))
    middle = fit.line.at(x)
    low, high = np.array([fit.interval_at(float(rpm)) for rpm in x]).T
    frame = Frame((0.0, float(x[-1])), span([readings.off, middle, zero]), "rpm", "degrees")
    floor, roof = frame.y
    title = "Observed less commanded advance over engine speed; the band holds the line at 95 %."
    return tag(
        "figure",
        frame.drawn(
            title,
            frame.band(x, np.clip(low, floor, roof), np.clip(high, floor, roof)),
            frame.path(x, middle, "before"),
            frame.dots(readings.rpm[kept], readings.off[kept], "dot"),
            frame.dots(readings.rpm[~kept], readings.off[~kept], "out", 6.0),
        ),
        tag("figcaption", f"{title} Rings are left out.", cls="soft"),
    )


def _readings(fit: Fit) -> Markup:
    readings = fit.readings
    rows = [
        [
            f"{readings.rows[i]}{' (left out)' if fit.left_out[i] else ''}",
            number(round(float(readings.rpm[i])), 5),
            degrees(float(readings.commanded[i]), signed=False),
            degrees(float(readings.observed[i]), signed=False),
            degrees(float(readings.off[i])),
        ]
        for i in range(min(readings.rpm.size, _MOST_ROWS))
    ]
    heads = ["Reading", "rpm", "Commanded", "Observed", "Off by"]
    return tag("section", tag("h2", "Readings"), table(heads, rows))
