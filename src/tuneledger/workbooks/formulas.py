"""Formulas that a workbook keeps without the values they had: what a script writes, unopened.

Counted in the process apart that reads the workbook. No pattern here tries a stretch of text anew:
what may repeat ends at the next `<` and gives nothing back.
"""

import re
import zipfile
import zlib
from pathlib import Path

_WORKSHEET = re.compile(r"xl/worksheets/[^/]+\.xml", re.IGNORECASE)
_FORMULA = rb"<f\b[^<>]*+(?:(?<=/)>|>[^<]*+</f>)"
_NO_VALUE = rb"(?:<v\s*+/>\s*+|<v>\s*+</v>\s*+)?+"
_EMPTY = re.compile(rb"<c\b[^<>]*+>\s*+" + _FORMULA + rb"\s*+" + _NO_VALUE + rb"</c>")
_MOST = 1 << 26  # bytes of one worksheet that are looked at
_PLAIN = (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED)
_LOCKED = 1  # the flag of a file in a zip that only a password opens


def without_values(workbook: Path) -> int:
    """How many cells of an XLSX hold a formula and no value (ISO/IEC 29500-1, 18.3.1.4).

    0 for other workbooks, and for what cannot be read.
    """
    found = 0
    try:
        with workbook.open("rb") as file:
            if not file.read(2).startswith(b"PK"):
                return 0
            with zipfile.ZipFile(file) as archive:
                for member in archive.infolist():
                    if _is_readable_worksheet(member):
                        with archive.open(member) as part:
                            found += sum(1 for _ in _EMPTY.finditer(part.read(_MOST)))
    except (zipfile.BadZipFile, zlib.error, OSError, EOFError, ValueError, NotImplementedError):
        return 0
    return found


def _is_readable_worksheet(member: zipfile.ZipInfo) -> bool:
    is_plain = member.compress_type in _PLAIN and not member.flag_bits & _LOCKED
    return is_plain and _WORKSHEET.fullmatch(member.filename) is not None
