"""Degrees that no engine is given

**What it finds.** A number of the map, or of a correction that stands in its place or holds it,
beyond −60° to 80° before top dead centre; and a correction that takes or adds more than 60°. That
an engine is given none of these is common practice, no source; the advance that SAE J1979 can show
ends at −64° and 63.5°.

**Why it matters.** It is a slip of the finger, a lost decimal point or a placeholder. Where a limit
holds it, nobody sees it until the limit is moved.

**Example.** `values = [[13.0, 18.0, -800.0]]` in the map; `amount = -80.0` where −8.0 was meant.

**What to do.** Write the number that is meant, or "?" where nobody knows it.

**When to ignore it.** Never in a map; a correction of more than 60° may stand for a cut.
"""

from collections.abc import Iterator

from tuneledger.audit.model import Said
from tuneledger.audit.sheet import Audited
from tuneledger.calibrations.plausible import INSTEAD, beyond, can
from tuneledger.wording import count, degrees, listing

_MOST = 3


def check(sheet: Audited) -> Iterator[Said]:
    """One finding per table, its farthest numbers first."""
    grouped: dict[tuple[str, bool], list[tuple[float, str]]] = {}
    for one in beyond(sheet.calibration):
        owner = one.path.partition(".values")[0].removesuffix(".amount")
        grouped.setdefault((owner, one.adds), []).append((one.degrees, one.path))
    for (_, adds), found in grouped.items():
        found.sort(key=lambda one: -abs(one[0]))
        numbers = [degrees(value, signed=adds) for value, _ in found[:_MOST]]
        if len(found) > _MOST:
            numbers.append(count(len(found) - _MOST, "more number"))
        yield Said(
            "fault",
            tuple(path for _, path in found),
            f"{listing(numbers)} can hardly be meant: {can(adds)}.",
            INSTEAD,
            size=abs(found[0][0]),
        )
