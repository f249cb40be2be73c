"""The fillings that tell entries apart in a picture, the same as on the page (ink.js)."""

from tuneledger.pages.tag import Markup, join, tag

_COLOURS = {"takes": "#1c62a6", "adds": "#b3540c"}
# Strokes in a square of 6 pixels, and how broad they are; the first entry has none.
_STROKES = (
    ("M-1 7L7 -1M-1 1L1 -1M5 7L7 5", 1.0),
    ("M3 3h0.01", 2.3),
    ("M3 0V6", 1.0),
    ("M-1 -1L7 7M5 -1L7 1M-1 5L1 7", 1.0),
    ("M0 3H6", 1.0),
)
# What an entry's class has beside "takes" or "adds", by its place among all entries.
HATCHED = ("", *(f" hatch{i}" for i in range(1, len(_STROKES) + 1)))

STYLE = "\n".join(
    f".{sign} {{ fill: {colour}; }} "
    + " ".join(
        f".{sign}.hatch{i} {{ fill: url(#{sign}{i}); fill-opacity: 1; }}"
        for i in range(1, len(_STROKES) + 1)
    )
    for sign, colour in _COLOURS.items()
)


def patterns() -> Markup:
    """What `STYLE` refers to: a tint of the sign's colour under its strokes."""
    return tag(
        "defs",
        *(
            _pattern(f"{sign}{i}", colour, strokes, breadth)
            for sign, colour in _COLOURS.items()
            for i, (strokes, breadth) in enumerate(_STROKES, start=1)
        ),
    )


def _pattern(name: str, colour: str, strokes: str, breadth: float) -> Markup:
    pen = f"fill: none; stroke: {colour}; stroke-width: {breadth:g}; stroke-linecap: round"
    drawn = join(
        tag("rect", width="6", height="6", fill=colour, fill_opacity="0.2"),
        tag("path", d=strokes, style=pen, stroke_opacity="0.85"),
    )
    return tag("pattern", drawn, id=name, width="6", height="6", patternUnits="userSpaceOnUse")
