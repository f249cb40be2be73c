"""Angles counted after top dead centre, where all else counts before it."""

import re

# An angle counted after top dead centre is the same number with the other sign.
_AFTER = re.compile(
    r"\batdc\b|\bafter\b|\bnach ot\b|\bn\.? ?ot\b|\bapr[eè]s pmh\b|\bdopo pms\b|после вмт",
    re.IGNORECASE,
)


def counts_after(name: str) -> bool:
    """Whether a name or unit says that the angle is counted after top dead centre."""
    return _AFTER.search(name) is not None
