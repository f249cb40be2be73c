"""How large the files in a zip become, found by unpacking them and not by what the zip says."""

import struct
import zipfile
import zlib
from pathlib import Path

_LOCAL_HEADER = struct.Struct("<26xHH")  # its last two fields: lengths of the name and of the rest
_PIECE = 1 << 18


def grows_beyond(path: Path, most: int) -> bool:
    """Whether the files in a zip hold more than so many bytes; stops as soon as they do.

    Raises what `zipfile` does, and zlib.error, where the zip is damaged.
    """
    found = 0
    with zipfile.ZipFile(path) as archive, path.open("rb") as file:
        for member in archive.infolist():
            try:
                file.seek(member.header_offset)
            except ValueError as problem:
                raise zipfile.BadZipFile("a file in it lies nowhere") from problem
            header = file.read(_LOCAL_HEADER.size)
            if len(header) < _LOCAL_HEADER.size:
                raise zipfile.BadZipFile("a file in it has no beginning")
            file.seek(sum(_LOCAL_HEADER.unpack(header)), 1)
            left, unpacking = member.compress_size, zlib.decompressobj(-zlib.MAX_WBITS)
            while left > 0 and (piece := file.read(min(_PIECE, left))):
                left -= len(piece)
                if member.compress_type == zipfile.ZIP_STORED:
                    found += len(piece)
                while piece and member.compress_type == zipfile.ZIP_DEFLATED:
                    found += len(unpacking.decompress(piece, _PIECE))
                    piece = unpacking.unconsumed_tail
                    if found > most:
                        return True
            if found > most:
                return True
    return False
