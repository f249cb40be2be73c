"""Whether a log came through the diagnostic port, where SAE J1979 fixes what an advance means.

Its PID 0x0E, "ignition timing advance for #1 cylinder" with the display name SPARKADV, is what the
engine used. Two things give such a log away: its percentages count in 255ths (A · 100/255), and its
other channels bear the standard's own names.
"""

from collections.abc import Sequence

import numpy as np

from tuneledger.roles.facts import Facts

_ADVANCE = ("timingadvance", "ignitiontimingadvance", "sparkadv", "sparkadvance")
# Display names and descriptions of SAE J1979 that hardly stand anywhere else (from memory).
_NAMES = frozenset(
    {"loadpct", "loadabs", "ect", "shrtft1", "longft1", "shrtft2", "longft2", "frp", "vss",
     "sparkadv", "iat", "maf", "tp", "runtm", "frpd", "egrpct", "evappct", "fli", "baro",
     "catemp11", "catemp12", "catemp21", "vpwr", "eqrat", "eqratcmd", "tpr", "aat", "tpb",
     "appd", "appe", "appf", "tacpct", "alchpct", "eot", "milontime", "milonmiles", "clrdist"}
)  # fmt: skip
_PARTS = ("fueltrim", "calculatedload", "absoluteload", "troublecode", "equivratio", "catalysttemp",
          "equivalenceratio", "evaporativepurge", "milon", "withmil", "runtimesince")  # fmt: skip
_FEWEST_NAMES = 3
# Values written to one decimal lie this close to their 255th; eight by chance would be rare.
_STEPS, _NEAR, _FEWEST_VALUES = 2.55, 0.14, 8
_LOWEST_DEG, _HIGHEST_DEG, _STEP_DEG = -64.0, 63.5, 0.5


def is_reported(facts: Sequence[Facts], advance: Facts) -> bool:
    """Whether a channel is the advance that SAE J1979 has an engine report."""
    name = _plain(advance.channel.name)
    if not (name in _ADVANCE or name.startswith("ignitiontimingadvancefor")):
        return False
    named = sum(_by_name(_plain(f.channel.name)) for f in facts)
    if named >= _FEWEST_NAMES:
        return True
    return _scaled(advance) and any(_in_255ths(f) for f in facts)


def _plain(name: str) -> str:
    return "".join(c for c in name.casefold() if c.isalnum())


def _by_name(name: str) -> bool:
    return name in _NAMES or any(part in name for part in _PARTS)


def _scaled(advance: Facts) -> bool:
    """A/2 − 64 with A from 0 to 255, or that in whole degrees."""
    own = advance.thin[np.isfinite(advance.thin)]
    inside = (own >= _LOWEST_DEG) & (own <= _HIGHEST_DEG)
    return bool(own.size and inside.all() and (own % _STEP_DEG == 0).all())


def _in_255ths(facts: Facts) -> bool:
    own = np.unique(facts.thin[np.isfinite(facts.thin)])
    if own.size < _FEWEST_VALUES or own[0] < 0.0 or own[-1] > 100.0 or (own % 0.5 == 0).all():
        return False
    raw = own * _STEPS
    return bool((np.abs(raw - np.rint(raw)) <= _NEAR).all())
