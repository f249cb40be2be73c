"""An image of memory: bytes by address, out of Intel HEX or Motorola S-record text.

The records are unpacked and their sums checked by bincopy. Putting them in order is done here, so
that a hostile order of records costs no more than a friendly one, and so that bytes that are
given twice and differ are found. What follows on what was before is joined as it is read, so that
short records cost no more memory than long ones.
"""

import re
from bisect import bisect_right
from collections.abc import Iterator
from importlib.util import find_spec

from tuneledger.bounded import at_most, how_to_raise
from tuneledger.calibrations.asam.limits import PIECES, RECORDS, RUNS
from tuneledger.calibrations.asam.parameter import NotRepresentedError
from tuneledger.errors import CalibrationError, Fault
from tuneledger.record import record
from tuneledger.wording import count

_DATA, _END, _SEGMENT, _LINEAR = 0, 1, 2, 4
_IHEX_KINDS = range(6)
_SREC_DATA, _SREC_END = "123", "789"

_LINE = re.compile(r"[^\r\n]*(?:\r\n|\r|\n|\Z)")

LACKING = "not in the image"
Line = tuple[int, str]
Run = tuple[int, bytearray]


@record
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
            are = "is" if size - there == 1 else "are"
            raise NotRepresentedError(f"{missing} at 0x{at + there:08X}{moved} {are} {LACKING}")
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
    first = next(_lines(text), (0, ""))[1]
    unpack = _intel if first.startswith(":") else _motorola
    runs = _Runs(name)
    ended = unpack(_lines(text), runs, name)
    if not runs.found:
        raise CalibrationError(Fault("the image holds no bytes", file=name))
    starts, pieces = _pieces(runs.found, name)
    note = f"{name} has no end record; it may be cut short"
    return Image(name, starts, pieces, () if ended else (note,), shift)


def _lines(text: str) -> Iterator[Line]:
    """Lines that are not blank, with their numbers, one after the other."""
    for number, found in enumerate(_LINE.finditer(text), 1):
        line = found[0].strip()
        if line:
            yield number, line


class _Runs:
    """Bytes by address in the order of the file, joined where a record follows the one before."""

    def __init__(self, name: str) -> None:
        self.found: list[Run] = []
        self._name = name
        self._next = -1
        self._records = 0
        self._most_records, self._most_runs = at_most(RECORDS), at_most(RUNS)

    def add(self, address: int, data: bytes, number: int) -> None:
        """CalibrationError where there are more records, or more runs, than are taken in."""
        self._records += 1
        if address == self._next:
            self.found[-1][1].extend(data)
        else:
            self.found.append((address, bytearray(data)))
        self._next = address + len(data)
        if self._records > self._most_records:
            raise self._too_many(f"more than {count(self._most_records, 'record')}", number)
        if len(self.found) > self._most_runs:
            most = count(self._most_runs, "record")
            found = f"more than {most} that do not follow the one before"
            raise self._too_many(found, number)

    def _too_many(self, found: str, number: int) -> CalibrationError:
        do = "Write the image anew with longer records, in the order of their addresses."
        do += f" {how_to_raise()}"
        return CalibrationError(
            Fault(f"the image has {found}", file=self._name, place=f"line {number}", do=do)
        )


def _intel(lines: Iterator[Line], runs: _Runs, name: str) -> bool:
    """Add all records; whether there was an end record."""
    from bincopy import unpack_ihex

    base = 0
    for number, line in lines:
        kind, address, _, data = _unpacked(unpack_ihex, line, number, name)
        if kind not in _IHEX_KINDS:
            raise _wrong(name, number, f"a record of type {kind}", "type 0 to 5")
        if kind == _DATA and data:
            runs.add(base + address, data, number)
        elif kind in (_SEGMENT, _LINEAR):
            if len(data) != 2:
                raise _wrong(name, number, f"an address of {count(len(data), 'byte')}", "2 bytes")
            base = int.from_bytes(data, "big") << (4 if kind == _SEGMENT else 16)
        elif kind == _END:
            return True
    return False


def _motorola(lines: Iterator[Line], runs: _Runs, name: str) -> bool:
    """Add all records; whether there was an end record."""
    from bincopy import unpack_srec

    ended = False
    for number, line in lines:
        kind, address, _, data = _unpacked(unpack_srec, line, number, name)
        if kind in _SREC_DATA and data:
            runs.add(address, data, number)
        ended = ended or kind in _SREC_END
    return ended


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


def _pieces(runs: list[Run], name: str) -> tuple[tuple[int, ...], tuple[bytes, ...]]:
    """Runs in the order of their addresses, joined where they touch; empties the list."""
    runs.sort(key=lambda run: -run[0])
    starts: list[int] = []
    pieces: list[bytearray] = []
    while runs:
        address, data = runs.pop()
        end = starts[-1] + len(pieces[-1]) if starts else -1
        if address > end:
            starts.append(address)
            pieces.append(data)
            if len(starts) > at_most(PIECES):
                pieces_text = count(at_most(PIECES), "piece")
                found = f"the image is in more than {pieces_text} apart from each other"
                do = f"Write only what the description reads. {how_to_raise()}"
                fault = Fault(found, file=name, do=do)
                raise CalibrationError(fault)
            continue
        at = address - starts[-1]
        known = pieces[-1][at : at + len(data)]
        if known != data[: len(known)]:
            fault = Fault(f"two records give other bytes from 0x{address:08X} on", file=name)
            raise CalibrationError(fault)
        pieces[-1] += data[len(known) :]
    return tuple(starts), tuple(bytes(piece) for piece in pieces)
