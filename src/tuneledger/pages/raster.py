"""A picture as PNG, for a message or a report that takes no SVG."""

from collections.abc import Callable
from importlib import import_module
from importlib.util import find_spec
from pathlib import Path

from tuneledger.errors import Fault, OutputError
from tuneledger.statement.output import Output, text_output

ENDINGS = (".svg", ".png")
_ZOOM = 2.0  # sharp on today's screens and on paper
_LIBRARY = "resvg_py"
# Text is drawn with a font of this machine; without one a picture would say nothing.
_PROBE = (
    '<svg xmlns="http://www.w3.org/2000/svg" width="40" height="20">'
    '<text x="2" y="16" style="font-family: {family}; font-size: 16px">Mm8</text></svg>'
)
_FAMILIES = (
    *("Segoe UI", "Helvetica Neue", "Arial", "Liberation Sans", "Noto Sans", "DejaVu Sans"),
    *("Helvetica", "Roboto", "Ubuntu", "Cantarell", "Open Sans", "Verdana", "FreeSans"),
)


def check_picture(place: Path) -> None:
    """Whether a picture can be written there; OutputError says what to do."""
    ending = place.suffix.lower()
    if ending not in ENDINGS:
        raise OutputError(
            Fault(
                f"a picture cannot be written as '{place.suffix or place.name}'",
                file=str(place),
                expected="a name that ends in .svg or .png",
                do="Change the ending.",
            )
        )
    if ending == ".png" and find_spec(_LIBRARY) is None:
        raise OutputError(
            Fault(
                "PNG needs a library that is not installed",
                file=str(place),
                expected="resvg-py, the extra 'png'",
                do="Install it (pip install resvg-py), or write an .svg: a browser shows it.",
            )
        )


def picture_output(place: Path, svg: str) -> Output:
    """The picture under its ending's format.

    Raises OutputError where this machine has no font to write with.
    """
    if place.suffix.lower() != ".png":
        return text_output(place, svg)
    drawn = png(svg)
    return Output(place, lambda file: file.write(drawn))


def png(svg: str) -> bytes:
    """The picture as PNG, two dots for each pixel of the SVG.

    Raises OutputError where this machine has no font to write with.
    """
    draw = import_module(_LIBRARY).svg_to_bytes
    family = next((f for f in _FAMILIES if writes(draw, f)), None)
    if family is None:
        raise OutputError(
            Fault(
                "there is no font here to write the picture's words with",
                expected=f"one of {', '.join(_FAMILIES[:6])}",
                do="Install one, or write an .svg.",
            )
        )
    return bytes(draw(svg_string=svg, zoom=_ZOOM, sans_serif_family=family, font_family=family))


def writes(draw: Callable[..., bytes], family: str) -> bool:
    """Whether text in this family leaves a mark: an empty picture is what comes without it."""
    with_it, without = (
        bytes(draw(svg_string=_PROBE.format(family=family).replace("Mm8", text)))
        for text in ("Mm8", "")
    )
    return with_it != without
