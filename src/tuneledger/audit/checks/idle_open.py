"""An idle governor that works with the throttle open

**What it finds.** An idle governor that no condition keeps to a closed throttle: it reads neither
throttle, pedal, load, manifold pressure nor a switch, or the throttle may stand above 10 % (common
practice, no source) with all of its conditions true.

**Why it matters.** Above its target speed a governor takes advance, always. Left on, it takes all
that it has on every pull, and the log shows a retard that nobody can place.

**Example.** A table over idle speed target minus engine speed, without a `when`.

**What to do.** Keep it to a closed throttle, with a release value or a time to be held.

**When to ignore it.** Where the engine has no throttle, or the control unit leaves the governor by
itself and the sheet only says nothing of it.
"""

from collections.abc import Iterator, Sequence

from tuneledger.audit.idle import governors
from tuneledger.audit.model import Said
from tuneledger.audit.phrases import called
from tuneledger.audit.sheet import Audited
from tuneledger.calibrations.model import Comparison, Condition, readings
from tuneledger.calibrations.named import named_corrections
from tuneledger.wording import degree_span

OPEN_PCT = 10.0
TELLS = frozenset(
    {
        "throttle position",
        "accelerator position",
        "engine load",
        "manifold absolute pressure",
    }
)


def check(sheet: Audited) -> Iterator[Said]:
    """Governors that a closed throttle does not let go."""
    for governor in governors(sheet):
        when = governor.correction.when
        if _keeps_to_idle(when) and not _lets_open(sheet, when):
            continue
        moves = sheet.moves(governor.correction)
        if moves.size == 0.0:
            continue
        span = degree_span(float(moves.low.min()), float(moves.high.max()))
        yield Said(
            "doubt",
            (governor.path,),
            f"{called(governor.correction)} can work with the throttle open: nothing keeps its "
            f"{span} to idle.",
            "Let it work with the throttle closed only.",
            moves.size,
        )


def _keeps_to_idle(when: Sequence[Condition]) -> bool:
    """Whether some condition reads what tells idle from the road; a channel's own may."""
    read = [reading for condition in when for reading in readings(condition)]
    asks = any(True for condition in when for _ in named_corrections(condition))
    return asks or any(one.channel is not None or one.signal in TELLS for one in read)


def _lets_open(sheet: Audited, when: Sequence[Condition]) -> bool:
    """Whether throttle or pedal are asked for, and may both stand open all the same."""
    asked = {reading.signal for condition in when for reading in readings(condition)}
    pedals = [name for name in ("throttle position", "accelerator position") if name in asked]
    wide = [Comparison.model_construct(signal=name, unit="%", above=OPEN_PCT) for name in pedals]
    return bool(wide) and sheet.possible.together([*when, *wide])
