"""Descriptions and images of our own making, for tests; images are written by hexrec."""

from collections.abc import Mapping
from io import BytesIO
from pathlib import Path

from hexrec import IhexFile, SrecFile

from tuneledger.calibrations.asam.a2l.description import read_description
from tuneledger.calibrations.asam.a2l.store import Described
from tuneledger.calibrations.asam.a2l.tokens import Page
from tuneledger.calibrations.asam.images import Image, read_image

Memory = Mapping[int, bytes]
COMMON = '/begin MOD_COMMON "" BYTE_ORDER MSB_LAST /end MOD_COMMON'


def project(inside: str, common: str = COMMON) -> str:
    """A description with these blocks in its module."""
    return f"""ASAP2_VERSION 1 71
/begin PROJECT Kestrel "Hill-climb car"
  /begin MODULE Ecu ""
    {common}
    {inside}
  /end MODULE
/end PROJECT
"""


def intel(memory: Memory) -> str:
    """Intel HEX text of a memory."""
    return _written(IhexFile, memory)


def motorola(memory: Memory) -> str:
    """Motorola S-record text of a memory."""
    return _written(SrecFile, memory)


def _written(form: type[IhexFile] | type[SrecFile], memory: Memory) -> str:
    file, out = form(), BytesIO()
    for address, data in memory.items():
        file.write(address, data)
    file.serialize(out)
    return out.getvalue().decode("ascii").replace("\r\n", "\n")


def image(memory: Memory, shift: int = 0) -> Image:
    return read_image(intel(memory), "kestrel.hex", shift)


def described(inside: str, memory: Memory | None = None, common: str = COMMON) -> Described:
    """The parameters of a description with these blocks, over this memory."""
    description = read_description(Page(project(inside, common), "kestrel.a2l"), {})
    return Described(description, image(memory) if memory is not None else None)


def written(folder: Path, name: str, text: str) -> Path:
    path = folder / name
    path.write_text(text, encoding="utf-8")
    return path
