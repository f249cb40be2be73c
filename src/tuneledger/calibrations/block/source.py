"""The text of a block of numbers, out of the bytes of a file or of what was piped in."""

from tuneledger.calibrations.block.model import BlockText
from tuneledger.calibrations.block.workbook import is_workbook, worksheet_text
from tuneledger.errors import Fault, UsageError


def block_text(
    data: bytes, file: str, worksheet: str | None = None, area: str | None = None
) -> BlockText:
    """The text, whatever its encoding, or what a worksheet holds as text.

    worksheet, area: where in a workbook the block stands; UsageError where the file is none

    Raises SheetError like `worksheet_text`.
    """
    if is_workbook(data):
        return worksheet_text(data, file, worksheet, area)
    if worksheet or area:
        raise UsageError(
            Fault("--worksheet and --cells are for workbooks; this is text", file=file)
        )
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        return BlockText(data.decode("utf-16", "replace"))
    try:
        return BlockText(data.decode("utf-8-sig"))
    except UnicodeDecodeError:
        return BlockText(data.decode("latin-1"))
