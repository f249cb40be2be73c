"""A whole description: its modules, and the parameters, conversions and layouts by name."""

from collections.abc import Iterator, Mapping
from dataclasses import field
from itertools import pairwise

from tuneledger.calibrations.asam.a2l.blocks import Block, Reading
from tuneledger.calibrations.asam.a2l.described import Said, axis_points, characteristic
from tuneledger.calibrations.asam.a2l.fields import Fields, as_whole
from tuneledger.calibrations.asam.a2l.layouts import (
    NATURAL,
    Alignment,
    Layout,
    aligned,
    is_alignment,
    read_layout,
)
from tuneledger.calibrations.asam.a2l.tokens import Page
from tuneledger.calibrations.asam.parameter import NotRepresentedError
from tuneledger.calibrations.tree import quoted
from tuneledger.errors import CalibrationError, Fault
from tuneledger.record import record
from tuneledger.wording import count, listing

_PARAMETERS = ("CHARACTERISTIC", "AXIS_PTS", "INSTANCE", "BLOB")
_TABLES = ("COMPU_TAB", "COMPU_VTAB", "COMPU_VTAB_RANGE")


@record
class Version:
    """The mark that the program in the control unit carries, and where (EPK and ADDR_EPK)."""

    text: str
    address: int


@record
class Module:
    """What one MODULE holds, each by its name."""

    methods: Mapping[str, Block]
    tables: Mapping[str, Block]
    layouts: Mapping[str, Block]
    alignment: Alignment
    order: str | None
    version: Version | None

    def layout(self, name: str) -> Layout:
        block = self.layouts.get(name)
        if block is None:
            raise NotRepresentedError(f"its record layout {quoted(name)} is not in the description")
        return read_layout(block, self.alignment)


@record
class Description:
    """The parameters by name, each with its module; `notes` are sentences for people."""

    name: str
    blocks: Mapping[str, tuple[Block, Module]]
    modules: tuple[Module, ...]
    notes: tuple[str, ...]
    twice: frozenset[str] = field(default=frozenset())

    def said(self, name: str) -> tuple[Said, Module]:
        """One parameter. KeyError where there is none, NotRepresentedError with the reason."""
        block, module = self.blocks[name]
        if name in self.twice:
            raise NotRepresentedError("it stands in the description more than once")
        if block.name in ("INSTANCE", "BLOB"):
            raise NotRepresentedError(f"it is described by {block.name}, which is not followed")
        return (axis_points if block.name == "AXIS_PTS" else characteristic)(block), module


def read_description(page: Page, beside: Mapping[str, Page]) -> Description:
    """The description that a file holds.

    beside: further files, by their names in small letters, for what it includes

    Raises CalibrationError with the line where it is damaged or cut short.
    """
    reading = Reading(beside)
    root = reading.tree(page)
    projects = list(root.inside("PROJECT")) or [root]
    found = [block for project in projects for block in project.inside("MODULE")]
    if not found:
        fault = Fault("there is no MODULE in it", file=page.name, expected="an A2L description")
        raise CalibrationError(fault)
    modules = tuple(map(_module, found))
    blocks: dict[str, tuple[Block, Module]] = {}
    twice: set[str] = set()
    for block, module in zip(found, modules, strict=True):
        for inside in _parameters(block):
            twice |= {inside.called} & blocks.keys()
            blocks.setdefault(inside.called, (inside, module))
    return Description(page.name, blocks, modules, tuple(_notes(reading, page)), frozenset(twice))


def _parameters(block: Block) -> Iterator[Block]:
    return (
        item
        for item in block.items
        if isinstance(item, Block) and item.name in _PARAMETERS and item.called
    )


def _module(block: Block) -> Module:
    common = next(block.inside("MOD_COMMON"), None)
    order, alignment = None, dict(NATURAL)
    if common is not None:
        words = [item for item in common.items if isinstance(item, str)]
        for key, value in pairwise(words):
            if is_alignment(key):
                try:
                    alignment |= aligned(key, value)
                except NotRepresentedError as problem:
                    raise common.page.fault(common.at, str(problem)) from None
            order = value if key == "BYTE_ORDER" else order
    return Module(
        _by_name(block, "COMPU_METHOD"),
        _by_name(block, *_TABLES),
        _by_name(block, "RECORD_LAYOUT"),
        alignment,
        order,
        _version(next(block.inside("MOD_PAR"), None)),
    )


def _by_name(block: Block, *kinds: str) -> dict[str, Block]:
    return {inside.called: inside for kind in kinds for inside in block.inside(kind)}


def _version(block: Block | None) -> Version | None:
    told = Fields(block).keywords() if block is not None else {}
    text, address = told.get("EPK", [""])[0], as_whole(told.get("ADDR_EPK", ["-"])[0])
    return Version(str(text), address) if text and address is not None else None


def _notes(reading: Reading, page: Page) -> Iterator[str]:
    if reading.missing:
        named = listing([quoted(name) for name in reading.missing[:5]])
        more = len(reading.missing) - 5
        rest = f" and {count(more, 'more file')}" if more > 0 else ""
        yield (
            f"{page.name} includes {named}{rest}: not given, and never opened by itself; give it "
            "with the others if something in it is missed"
        )
    unused = [other.name for key, other in reading.beside.items() if key not in reading.used]
    if unused:
        yield f"{listing(unused)}: nothing includes it; left out"
