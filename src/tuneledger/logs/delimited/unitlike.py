"""Whether a text is a unit: one that `units` knows, or one built like a unit."""

import re

from tuneledger.logs.delimited.vocabulary import word_set
from tuneledger.units import parse_unit

_LONGEST = 24
_SPLIT = re.compile(r"[/*·.^\-\s⋅×]+|(?<=[a-z])[-−]?\d$|²|³|⁻¹")


def is_unit(text: str) -> bool:
    """Whether a text can only be meant as a unit. A bare number, a bare dash, nothing: no."""
    text = text.strip()
    if re.fullmatch(r"0 ?(-|–|\.\.) ?1", text):
        return True  # a share written as its span
    if not text or len(text) > _LONGEST or re.fullmatch(r"[\d.,\s#-]+", text):
        return False
    unit = parse_unit(text)
    if unit is not None:
        return unit.kind != "number" or unit.symbol != ""
    parts = [part for part in _SPLIT.split(text.casefold()) if part]
    return bool(parts) and all(part in word_set("unit parts") or part == "1" for part in parts)
