"""Units that count in tens or tenths: `0.1 rpm`, `x10 rpm`, `100 Pa`."""

import re
from dataclasses import replace
from math import isclose, log10
from typing import TYPE_CHECKING

from tuneledger.units.table import Unit

if TYPE_CHECKING:
    from collections.abc import Callable

_COUNTED = re.compile(r"^\s*[x×]?\s*(\d+(?:[.,]\d+)?)\s*[x×*·]?\s*([^\d\s.,/-].*)$", re.IGNORECASE)
_MOST = 6  # powers of ten


def scaled(text: str, parse: "Callable[[str], Unit | None]") -> Unit | None:
    """The unit of a text that is a power of ten and a unit, or None: 12 of `0.1 rpm` are 1.2 rpm.

    parse: reads a unit without such a number
    """
    found = _COUNTED.match(text)
    if found is None:
        return None
    times = float(found.group(1).replace(",", "."))
    if times <= 0 or not isclose(log10(times), round(log10(times)), abs_tol=1e-9):
        return None
    unit = parse(found.group(2))
    if unit is None or unit.kind in ("number", "state") or abs(log10(times)) > _MOST:
        return None
    return replace(unit, symbol=f"{times:g} {unit.symbol}", factor=unit.factor * times)
