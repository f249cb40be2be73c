"""An image of memory: bytes by address, out of Intel HEX or Motorola S-record text.

The records are unpacked and their sums checked by bincopy. Putting them in order is done here, so
that a hostile order of records costs no more than a friendly one, and so that bytes that are
given twice and differ are found.
"""

from bisect import bisect_right
from dataclasses import dataclass
from importlib.util import find_spec

from tuneledger.calibrations.asam.limits import PIECES
from tuneledger.calibrations.asam.parameter import NotRepresentedError
from tuneledger.errors import CalibrationError, Fault
from tuneledger.wording import count

_DATA, _END, _SEGMENT, _LINEAR = 0, 1, 2, 4
_IHEX_KINDS = range(6)
_SREC_DATA, _SREC_END = "123", "789"

Record = tuple[int, bytes]


@dataclass(frozen=True, slots=True)
class Image:
    """Pieces of memory: `starts` rise, and `pieces` neither touch nor overlap.

    shift: what is added to an address of the description to find it here
    """

    name: str
    starts: tuple[int, ...]
    pieces: tuple[bytes, ...]
    notes: tuple[str, ...] = ()
    shift: int = 0

    def read(self, address: int, size: int) -> bytes:
        """Bytes at an address. NotRepresentedError that says which are missing."""
        at = address + self.shift
        index = bisect_right(self.starts, at) - 1
        start = self.starts[index] if index >= 0 else 0
        piece = self.pieces[index] if index >= 0 else b""
        if index < 0 or at + size > start + len(piece):
            there = max(0, min(size, start + len(piece) - at)) if index >= 0 else 0
            moved = f" (0x{address:08X} of the description)" if self.shift else ""
            missing = count(size - there, "byte")
            raise NotRepresentedError(
                f"{missing} at 0x{at + there:08X}{moved} are not in the image"
            )
        return piece[at - start : at - start + size]

    @property
    def spans(self) -> str:
        """Where its bytes are, for people: `0x00010000 to 0x0001FFFF`."""
        shown = [
            f"0x{start:08X} to 0x{start + len(piece) - 1:08X}"
            for start, piece in zip(self.starts[:4], self.pieces, strict=False)
        ]
        more = len(self.starts) - len(shown)
        return ", ".join(shown) + (f" and {more} more" if more else "")


def read_image(text: str, name: str, shift: int = 0) -> Image:
    """The image that a text holds. CalibrationError with the line that is wrong."""
    if find_spec("bincopy") is None:
        fault = Fault(
            "this is an image of memory, and what reads those is not installed",
            file=name,
            do="Install the extra 'calibration' (pip install bincopy defusedxml).",
        )
        raise CalibrationError(fault)
    lines = [(n, line.strip()) for n, line in enumerate(text.splitlines(), 1) if line.strip()]
    unpack = _intel if lines and lines[0][1].startswith(":") else _motorola
    records, ended = unpack(lines, name)
    if not records:
        raise CalibrationError(Fault("the image holds no bytes", file=name))
    starts, pieces = _pieces(records, name)
    note = f"{name} has no end record; it may be cut short"
    return Image(name, starts, pieces, () if ended else (note,), shift)


def _intel(lines: list[tuple[int, str]], name: str) -> tuple[list[Record], bool]:
    from bincopy import unpack_ihex

    records: list[Record] = []
    base, ended = 0, False
    for number, line in lines:
        kind, address, _, data = _unpacked(unpack_ihex, line, number, name)
        if kind not in _IHEX_KINDS:
            raise _wrong(name, number, f"a record of type {kind}", "type 0 to 5")
        if kind == _DATA and data:
            records.append((base + address, bytes(data)))
        elif kind in (_SEGMENT, _LINEAR):
            if len(data) != 2:
                raise _wrong(name, number, f"an address of {count(len(data), 'byte')}", "2 bytes")
            base = int.from_bytes(data, "big") << (4 if kind == _SEGMENT else 16)
        elif kind == _END:
            ended = True
            break
    return records, ended


def _motorola(lines: list[tuple[int, str]], name: str) -> tuple[list[Record], bool]:
    from bincopy import unpack_srec

    records: list[Record] = []
    ended = False
    for number, line in lines:
        kind, address, _, data = _unpacked(unpack_srec, line, number, name)
        if kind in _SREC_DATA and data:
            records.append((address, bytes(data)))
        ended = ended or kind in _SREC_END
    return records, ended


def _unpacked(unpack, line: str, number: int, name: str):  # type: ignore[no-untyped-def]
    """One record. The library refuses in errors of several kinds; all are told as the line."""
    from bincopy import Error

    try:
        return unpack(line)
    except (Error, ValueError, IndexError):
        found = "a damaged record (its length or its sum is wrong)"
        raise _wrong(name, number, found, "an Intel HEX or S-record line") from None


def _wrong(name: str, number: int, found: str, expected: str) -> CalibrationError:
    do = "Copy the image from where it came again; nothing of it was used."
    return CalibrationError(
        Fault(found, file=name, place=f"line {number}", expected=expected, do=do)
    )


def _pieces(records: list[Record], name: str) -> tuple[tuple[int, ...], tuple[bytes, ...]]:
    """Records in the order of their addresses, joined where they touch."""
    records.sort(key=lambda record: record[0])
    starts: list[int] = []
    pieces: list[bytearray] = []
    for address, data in records:
        end = starts[-1] + len(pieces[-1]) if starts else -1
        if address > end:
            starts.append(address)
            pieces.append(bytearray(data))
            if len(starts) > PIECES:
                fault = Fault("the image is in more pieces than that", file=name)
                raise CalibrationError(fault)
            continue
        known = pieces[-1][address - starts[-1] :][: len(data)] if address < end else b""
        if known != data[: len(known)]:
            fault = Fault(f"two records give other bytes from 0x{address:08X} on", file=name)
            raise CalibrationError(fault)
        pieces[-1] += data[len(known) :]
    return tuple(starts), tuple(bytes(piece) for piece in pieces)
