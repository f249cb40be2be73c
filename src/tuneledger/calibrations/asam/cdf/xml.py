"""XML of a stranger, as a tree: no entity is resolved, nothing outside is read, sizes are bounded.

A file of ASAM CDF names its document type and where that lies. It is never looked for; one that
declares entities of its own is refused.
"""

from importlib.util import find_spec
from typing import Any
from xml.etree.ElementTree import Element, ParseError, TreeBuilder

from tuneledger.bounded import at_most, how_to_raise
from tuneledger.calibrations.asam.limits import ELEMENTS, NESTED
from tuneledger.errors import CalibrationError, Fault

_PIECE = 1 << 20


class _TooMuchError(Exception):
    """The tree passes a bound; says which."""


class _Bounded(TreeBuilder):
    """Builds the tree with names without their namespaces, and keeps within the bounds."""

    def __init__(self) -> None:
        super().__init__()
        self._depth = self._count = 0
        self._deepest, self._most = at_most(NESTED), at_most(ELEMENTS)

    def start(self, tag: Any, attrs: Any, /) -> Any:
        self._depth += 1
        self._count += 1
        if self._depth > self._deepest:
            raise _TooMuchError(f"elements nested more than {self._deepest} deep")
        if self._count > self._most:
            raise _TooMuchError(f"more than {self._most} elements")
        return super().start(str(tag).rpartition("}")[2], attrs)

    def end(self, tag: Any, /) -> Any:
        self._depth -= 1
        return super().end(str(tag).rpartition("}")[2])


def parse(data: bytes, name: str) -> Element:
    """The root of a file. CalibrationError where it is no XML, is cut short, or is not harmless."""
    if find_spec("defusedxml") is None:
        fault = Fault(
            "this is XML, and what reads that safely is not installed",
            file=name,
            do="Install the extra 'calibration' (pip install bincopy defusedxml).",
        )
        raise CalibrationError(fault)
    from defusedxml.common import DefusedXmlException
    from defusedxml.ElementTree import DefusedXMLParser

    parser = DefusedXMLParser(
        target=_Bounded(), forbid_dtd=False, forbid_entities=True, forbid_external=True
    )
    try:
        for at in range(0, len(data), _PIECE):
            parser.feed(data[at : at + _PIECE])
        root: Element = parser.close()
    except ParseError as problem:
        line, column = problem.position
        do = "Export it again; it is damaged or cut short."
        place = f"line {line}, column {column + 1}"
        raise CalibrationError(Fault("not XML from here on", name, place, do=do)) from None
    except DefusedXmlException:
        found = "it declares entities, or names things outside the file"
        do = "Export it without them; no option lets them in."
        raise CalibrationError(Fault(found, file=name, expected="plain XML", do=do)) from None
    except _TooMuchError as problem:
        raise CalibrationError(Fault(str(problem), file=name, do=how_to_raise())) from None
    except (LookupError, ValueError):
        raise CalibrationError(Fault("its encoding is not known", file=name)) from None
    return root
