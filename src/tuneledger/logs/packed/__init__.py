"""Files inside files: told here by their first bytes, unpacked in `archives`."""

from tuneledger.errors import Fault
from tuneledger.logs.source import Source

GZIP = b"\x1f\x8b"
ZIP = b"PK\x03\x04"
_EMPTY_ZIP = b"PK\x05\x06"
_WORKBOOK = ("[Content_Types].xml", "mimetype")


# How files begin that hold others and are not read: by their formats' own descriptions.
_UNREAD = {
    b"BZh": "bzip2",
    b"\xfd7zXZ\x00": "xz",
    b"7z\xbc\xaf\x27\x1c": "7z",
    b"\x28\xb5\x2f\xfd": "Zstandard",
    b"\x04\x22\x4d\x18": "LZ4",
    b"Rar!\x1a\x07": "RAR",
    b"MSCF\x00\x00\x00\x00": "CAB",
    b"\x1f\x9d": "compress",
    GZIP: "gzip within what is packed already",
    ZIP: "zip within what is packed already",
}
_TAR_AT, _TAR = 257, b"ustar"


def packed_unread(source: Source) -> Fault | None:
    """What is said of a file that is packed in a way that is not read; None of all others."""
    form = next((name for start, name in _UNREAD.items() if source.head.startswith(start)), None)
    if form is None and source.head[_TAR_AT:].startswith(_TAR):
        form = "tar"
    if form is None:
        return None
    return Fault(
        f"it is packed in a form that is not read ({form})",
        file=source.name,
        expected="a log as it is, a gzip of one, or a zip of files",
        do="Unpack it, and hand over what is in it.",
    )


def is_packed(source: Source) -> bool:
    """Whether the file holds others: gzip, or a zip that is no workbook."""
    if source.head.startswith(GZIP):
        return True
    if not source.head.startswith((ZIP, _EMPTY_ZIP)):
        return False
    return not is_workbook(source)


def is_workbook(source: Source) -> bool:
    """Whether a zip is a spreadsheet's; False for one too damaged to tell."""
    import zipfile

    if not source.head.startswith(ZIP):
        return False
    try:
        with zipfile.ZipFile(source.path) as archive:
            return any(name in _WORKBOOK for name in archive.namelist())
    except (zipfile.BadZipFile, OSError, ValueError, NotImplementedError):
        return False
