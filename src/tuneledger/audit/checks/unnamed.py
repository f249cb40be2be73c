"""A correction that reads what nobody can name

**What it finds.** A correction that reads a channel whose name is that of a signal (then the
signal is meant), whose name is only a number of an input (`AIN 3`, `analog in 2`), or, where a log
is given, that the log does not carry.

**Why it matters.** What it hangs on cannot be judged: neither what it can be, nor whether the
thresholds make sense, nor whether a log shows it. In a reach it can be anything.

**Example.** `{ channel = "AIN 3", above = 2.5 }`: is that an oil pressure in volts?

**What to do.** Name the signal where there is one, else rename the channel to what it measures and
give it its unit.

**When to ignore it.** Where the logger really calls it so and the people of the car know it.
"""

import re
from collections.abc import Iterator

from tuneledger.audit.model import Said
from tuneledger.audit.phrases import called
from tuneledger.audit.sheet import Audited
from tuneledger.calibrations.model import Correction, Reading, readings
from tuneledger.signals import SIGNALS
from tuneledger.wording import listing

_NUMBERED = re.compile(
    r"(a|an|ai|ain|adc|analog(ue)?|aux|ch|chan|channel|d|di|din|dig|digital|gp|in|input|sensor"
    r"|signal|spare|user|x|y)?[\s._-]*(in|input)?[\s._#-]*\d+",
    re.IGNORECASE,
)


def check(sheet: Audited) -> Iterator[Said]:
    """Readings of enabled corrections whose channel says nothing, or is not there."""
    for path, correction in sheet.enabled:
        unclear = {name: why for name in _channels(correction) if (why := _why(sheet, name))}
        if unclear:
            named = listing(f"'{name}' ({why})" for name, why in unclear.items())
            yield Said(
                "doubt",
                (path,),
                f"{called(correction)} reads {named}.",
                "Name the signal, or the channel by what it measures, with its unit.",
            )


def _channels(correction: Correction) -> list[str]:
    found = [name for reading in readings(correction) for name in _named(reading)]
    return list(dict.fromkeys(found))


def _named(reading: Reading) -> Iterator[str]:
    if reading.channel:
        yield reading.channel
    yield from (n for n in (reading.minus, reading.over) if n and n not in SIGNALS)


def _why(sheet: Audited, name: str) -> str | None:
    meant = name.strip().casefold()
    if meant in SIGNALS:
        return f"the signal '{meant}' is meant"
    if _NUMBERED.fullmatch(name.strip()):
        return "the number of an input, not what it measures"
    if sheet.log is not None and sheet.log[0].find(name) is None:
        return f"{sheet.log[0].file} does not carry it"
    return None
