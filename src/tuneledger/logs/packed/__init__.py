"""Files inside files: told here by their first bytes, unpacked in `archives`."""

from tuneledger.logs.source import Source

GZIP = b"\x1f\x8b"
ZIP = b"PK\x03\x04"
_EMPTY_ZIP = b"PK\x05\x06"
_WORKBOOK = ("[Content_Types].xml", "mimetype")


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
