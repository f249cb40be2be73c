"""Kestrel's description, image and mapping with every kind of axis and table beside its own."""

from functools import cache

from tests.calibrations.asam import kestrel
from tests.calibrations.asam.making import Memory, intel
from tests.calibrations.asam.varied import Varied, mapping, varied
from tuneledger.calibrations.asam.a2l.description import read_description
from tuneledger.calibrations.asam.a2l.store import Described
from tuneledger.calibrations.asam.a2l.tokens import Page
from tuneledger.calibrations.asam.cdf.write import as_cdf
from tuneledger.calibrations.asam.images import read_image
from tuneledger.calibrations.asam.mapping.back import parameters_of
from tuneledger.calibrations.asam.mapping.choose import choose
from tuneledger.calibrations.text import parse

_CURVE = """<SW-INSTANCE><SHORT-NAME>{name}</SHORT-NAME><CATEGORY>{category}</CATEGORY>
<SW-VALUE-CONT><SW-VALUES-PHYS><V>0</V><V>0.5</V><V>2</V></SW-VALUES-PHYS></SW-VALUE-CONT>
<SW-AXIS-CONTS><SW-AXIS-CONT>{axis}</SW-AXIS-CONT></SW-AXIS-CONTS></SW-INSTANCE>"""
_OWN = "<CATEGORY>STD_AXIS</CATEGORY><SW-VALUES-PHYS><V>1</V><V>2</V><V>9</V></SW-VALUES-PHYS>"
_LED = "<CATEGORY>CURVE_AXIS</CATEGORY><SW-INSTANCE-REF>NORM</SW-INSTANCE-REF>"


@cache
def _beside() -> Varied:
    """Tables in the order of bytes of Kestrel's, with all kinds of axes among them."""
    wanted = ("COM_AXIS", "FIX_AXIS", "CURVE_AXIS", "RES_AXIS", "COLUMN_DIR")
    return next(
        made
        for made in map(varied, range(10_000))
        if made.order == ">" and all(word in made.description for word in wanted)
    )


def memory() -> Memory:
    return {**kestrel.memory(), **_beside().bytes}


@cache
def files() -> dict[str, str]:
    """As `kestrel.FILES`: the texts by their names."""
    blocks = "\n    ".join(_beside().blocks)
    head, end, tail = kestrel.DESCRIPTION.rpartition("  /end MODULE")
    corrections = mapping(_beside()).partition("[[spark.correction]]")
    return {
        "kestrel.a2l": f"{head}    {blocks}\n{end}{tail}",
        "kestrel-d.hex": intel(memory()),
        "mapping.toml": f"{kestrel.MAPPING}\n{corrections[1]}{corrections[2]}",
    }


@cache
def calibration_data() -> str:
    """All of it as CDF, with a curve that is reached through another."""
    texts = files()
    description = read_description(Page(texts["kestrel.a2l"], "kestrel.a2l"), {})
    store = Described(description, read_image(texts["kestrel-d.hex"], "kestrel-d.hex"))
    raw = parse(texts["mapping.toml"])
    sheet = choose(raw, store, "mapping.toml").calibration
    text = as_cdf(parameters_of(sheet, raw).parameters.values(), "Kestrel")
    led = [
        _CURVE.format(name="NORM", category="CURVE_AXIS", axis=_OWN),
        _CURVE.format(name="LED", category="CURVE", axis=_LED),
    ]
    end = "</SW-INSTANCE-TREE>"
    return text.replace(end, "".join(led) + end)
