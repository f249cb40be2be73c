"""Tables in FlatBuffers' encoding, as Arrow writes its own headers: fields by number.

Source: "FlatBuffers Internals" (the binary format). Damage raises ValueError: nothing is read
outside the data.
"""

import struct
from collections.abc import Iterator
from typing import Any


class Flat:
    """One table in a buffer; `at` is where it begins."""

    def __init__(self, data: bytes, at: int) -> None:
        self.data, self.at = data, at
        self._fields = at - take(data, "<i", at)[0]
        self._size = take(data, "<H", self._fields)[0]

    @classmethod
    def root(cls, data: bytes) -> "Flat":
        return cls(data, take(data, "<I", 0)[0])

    def number(self, field: int, form: str, missing: int = 0) -> int:
        """A number; `form` is its kind, as in the module `struct`."""
        place = self._place(field)
        return missing if place is None else int(take(self.data, form, place)[0])

    def table(self, field: int) -> "Flat | None":
        place = self._place(field)
        return None if place is None else Flat(self.data, self._there(place))

    def records(self, field: int, form: str) -> Iterator[tuple[Any, ...]]:
        """The records of a list, all of one form."""
        place = self._place(field)
        if place is None:
            return
        start = self._there(place)
        size, length = struct.calcsize(form), take(self.data, "<I", start)[0]
        if length * size > len(self.data):
            raise ValueError("a list longer than the data")
        for index in range(length):
            yield take(self.data, form, start + 4 + index * size)

    def _place(self, field: int) -> int | None:
        """Where a field stands; None where the table has none."""
        entry = 4 + 2 * field
        if entry + 2 > self._size:
            return None
        offset = take(self.data, "<H", self._fields + entry)[0]
        return self.at + offset if offset else None

    def _there(self, place: int) -> int:
        return place + int(take(self.data, "<I", place)[0])


def take(data: bytes, form: str, at: int) -> tuple[Any, ...]:
    """Numbers at a place; ValueError where that lies outside."""
    if at < 0 or at + struct.calcsize(form) > len(data):
        raise ValueError("its headers point outside")
    return struct.unpack_from(form, data, at)
