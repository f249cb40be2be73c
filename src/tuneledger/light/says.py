"""The fit in words: what it found, what to correct, in which direction, how to read again."""

from collections.abc import Sequence

from tuneledger.light.fit import DEG_PER_RPM_US, FEWEST, NARROWEST, WORTH_DEG, Fit
from tuneledger.wording import bound, count, degrees, listing, number, quantity, sentence

_FIXED_DEG = 1.0  # within which an advance counts as one
PROCEDURE = (
    "Warm engine, everything that loads it at idle switched off. Set the ECU to one fixed advance, "
    "the same at every speed.",
    "Prove the mark: bring cylinder 1 to top dead centre and look.",
    "In neutral, unloaded, read four or more steady speeds, from idle to at least twice idle.",
    "Keep leads, sleeves, hair and hands clear of fan, belts, hot parts and ignition voltage.",
    "After correcting, shoot again, unloaded: a correction the wrong way doubles the error.",
    "Switch the fixed advance off before you drive on, and see that the map is followed again.",
)
CAUTION = (
    "Until the crank agrees, spare the engine load: an advance that is larger than the ECU "
    "believes can detonate it in seconds. Local rules and qualified practice come first."
)


def says(fit: Fit) -> str:
    """What the readings show, in a sentence or two."""
    if fit.sign_in_doubt:
        return _sign_in_doubt(fit)
    if fit.line is None:
        return _one_speed(fit)
    if fit.state == "cannot tell":
        return sentence(f"cannot tell yet: {_why_not(fit)}. {_so_far(fit)}")
    found = [*_offset_says(fit), *_delay_says(fit)]
    if not found:
        found = [
            "agrees: the crank gets what the ECU commands, within "
            f"{bound(fit.within_deg or 0.0)} from {_rpm(fit.low_rpm)} to "
            f"{_rpm(fit.top_rpm)}"
        ]
    return " ".join(sentence(text) for text in [*found, *_left_out(fit)])


def do(fit: Fit) -> str:
    """What to do about it, and in which direction."""
    if fit.state == "agrees":
        again = (
            f"Read {_named(fit.outlier_rows)} again before you rely on this, unloaded; of the "
            "others nothing is to be corrected."
            if fit.outlier_rows
            else "Nothing to correct."
        )
        return f"{again} Switch the fixed advance off before you drive on."
    if fit.sign_in_doubt:
        return (
            "Look whether the mark stood before or after top dead centre: before it is plus, after "
            "it minus; a column that counts the other way is to say so in its name (ATDC). Change "
            "nothing on this."
        )
    if fit.state == "cannot tell":
        return (
            f"Read again at {count(FEWEST, 'speed')} or more, the highest at least twice the "
            f"lowest{', as finely as the mark allows' * fit.coarse}; change nothing on this."
        )
    out = []
    offset, delay = fit.offset_deg or 0.0, fit.delay_us or 0.0
    if fit.offset_is == "off":
        way, side = ("later", "less") if offset > 0 else ("earlier", "more")
        out.append(
            f"correct the reference angle by {degrees(abs(offset), signed=False)} so that the "
            f"spark comes {way} (observed gets {side})"
        )
    if fit.delay_is == "off":
        way = "more" if delay > 0 else "less"
        out.append(
            f"{'then let' if out else 'let'} the ECU compensate {_us(abs(delay))} {way} delay, so "
            f"that the spark does not {'fall behind' if delay > 0 else 'run ahead'} with speed"
        )
    first = "read again at one fixed advance, and only if that shows the same: "
    found = f"{first * _moved(fit)}{', '.join(out)}"
    load = " No load until then." if _largest_ahead(fit) >= WORTH_DEG else ""
    return f"{sentence(found)}{load}" + (
        " Controllers differ in which sign does that: shoot again, unloaded; if the error has "
        "doubled, it went the wrong way. Switch the fixed advance off before you drive on."
    )


def notes(fit: Fit) -> tuple[str, ...]:
    """What else is to be said of these readings."""
    readings = fit.readings
    out = list(readings.notes)
    for row, line, off in zip(readings.rows, readings.lines, readings.off, strict=True):
        if row in fit.outlier_rows and fit.line is not None:
            at = readings.rpm[readings.rows == row][0]
            apart = float(off - fit.line.at(at))
            why = " (it looks as if it were after top dead centre)" * (row in fit.turned_rows)
            out.append(
                f"reading {row} (line {line}, {_rpm(float(at))}) lies {degrees(apart)} off the "
                f"line of the others and is left out{why}: read that speed again"
            )
    commanded = readings.commanded
    if _moved(fit):
        out.append(
            f"the commanded advance was not fixed ({number(float(commanded.min()))}° to "
            f"{number(float(commanded.max()))}°): an observed advance lags behind one that moves"
        )
    if _seems_doubled(fit):
        out.append(
            "observed is about twice commanded: on an ignition that fires every revolution, a "
            "light with a dial may count double; read at the fixed mark with the dial at zero"
        )
    if fit.residual_deg is not None and fit.residual_deg > 1.5 and not fit.sign_in_doubt:
        out.append(
            f"the readings scatter by {degrees(fit.residual_deg, signed=False)}: hold the speed "
            "steadier, and look whether the mark or the pick-up is loose"
        )
    return tuple(out)


def _sign_in_doubt(fit: Fit) -> str:
    rows = fit.turned_rows
    which = "all readings look" if fit.turned.all() else f"{_named(rows)} {_looks(rows)}"
    return (
        f"Cannot tell yet: {which} as if counted after top dead centre, where before is meant; "
        "with the other sign they would fall into place."
    )


def _left_out(fit: Fit) -> list[str]:
    rows = fit.outlier_rows
    if not rows:
        return []
    verb = "is" if len(rows) == 1 else "are"
    return [
        f"{_named(rows)} {verb} left out: {fit.used} of {fit.readings.rpm.size} stand behind this"
    ]


def _named(rows: Sequence[int]) -> str:
    return f"reading{'s' * (len(rows) > 1)} {listing(str(row) for row in rows)}"


def _looks(rows: Sequence[int]) -> str:
    return "looks" if len(rows) == 1 else "look"


def _one_speed(fit: Fit) -> str:
    kept = ~fit.left_out
    mean = float(fit.readings.off[kept].mean())
    return (
        f"Cannot tell yet: all readings are at one speed ({_rpm(fit.top_rpm)}). There the crank "
        f"gets {degrees(mean)} more than commanded; an angle and a delay look alike at one speed."
        if mean > 0
        else f"Cannot tell yet: all readings are at one speed ({_rpm(fit.top_rpm)}). There the "
        f"crank gets {degrees(abs(mean), signed=False)} less than commanded; an angle and a delay "
        "look alike at one speed."
    )


def _why_not(fit: Fit) -> str:
    if fit.too_few:
        return f"too few readings ({fit.used}; {FEWEST} are the least)"
    if fit.too_narrow:
        return (
            f"the speeds are too close together ({_rpm(fit.low_rpm)} to {_rpm(fit.top_rpm)}; the "
            f"highest should be at least {number(NARROWEST)} times the lowest)"
        )
    if fit.coarse:
        step = quantity(fit.step_deg, "deg")
        return f"readings rounded to {step} leave too much open over these speeds"
    return "the readings scatter too much for so few of them"


def _so_far(fit: Fit) -> str:
    """What they would say if they could carry it, with the interval that shows why they cannot."""
    offset, delay = fit.offset_interval_deg, fit.delay_interval_us
    if offset is None or delay is None:
        return ""
    return (
        f"The offset {_lies(degrees(offset[0]), degrees(offset[1]))}, the delay "
        f"{_lies(_us(delay[0]), _us(delay[1]))}"
    )


def _lies(low: str, high: str) -> str:
    return f"is about {low}" if low == high else f"lies between {low} and {high}"


def _offset_says(fit: Fit) -> list[str]:
    if fit.offset_is != "off" or fit.offset_deg is None or fit.offset_interval_deg is None:
        return []
    low, high = fit.offset_interval_deg
    way = "earlier" if fit.offset_deg > 0 else "later"
    return [
        f"the reference angle is off: the spark comes {degrees(abs(fit.offset_deg), signed=False)} "
        f"{way} than commanded at every speed ({interval(degrees(low), degrees(high))})"
    ]


def _delay_says(fit: Fit) -> list[str]:
    if fit.delay_is != "off" or fit.delay_us is None or fit.delay_interval_us is None:
        return []
    low, high = fit.delay_interval_us
    at_top = abs(fit.delay_us) * DEG_PER_RPM_US * fit.top_rpm
    what = (
        f"a delay of {_us(fit.delay_us)} is not compensated"
        if fit.delay_us > 0
        else f"the ECU compensates {_us(-fit.delay_us)} of delay too much"
    )
    way = "later" if fit.delay_us > 0 else "earlier"
    return [
        f"{what} ({interval(_us(low), _us(high))}): by it the spark comes "
        f"{degrees(at_top, signed=False)} {way} at {_rpm(fit.top_rpm)}"
    ]


def interval(low: str, high: str) -> str:
    """The ends of an interval; one where it is narrower than they are written."""
    return f"about {low}" if low == high else f"{low} to {high}"


def _moved(fit: Fit) -> bool:
    """Whether the commanded advance was not the same at every speed."""
    commanded = fit.readings.commanded
    return float(commanded.max() - commanded.min()) > _FIXED_DEG


def _seems_doubled(fit: Fit) -> bool:
    kept = ~fit.left_out
    commanded = float(fit.readings.commanded[kept].mean())
    observed = float(fit.readings.observed[kept].mean())
    return commanded >= 8.0 and abs(observed - 2.0 * commanded) < 2.0


def _largest_ahead(fit: Fit) -> float:
    """The most by which the crank gets more advance than commanded, within the speeds read."""
    assert fit.line is not None
    return max(fit.line.intercept + fit.line.slope * rpm for rpm in (fit.low_rpm, fit.top_rpm))


def _rpm(value: float) -> str:
    return quantity(round(value), "rpm")


def _us(value: float) -> str:
    return quantity(round(value), "µs", 5)
