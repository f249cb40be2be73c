"""Records in Thrift's compact protocol, as Parquet writes its own headers: numbers by field.

Source: "Thrift Compact protocol encoding" of Apache Thrift. Texts and all that is not asked for are
passed over. Damage raises ValueError.
"""

from typing import Any

_DEEPEST = 16
_STOP, _TRUE, _FALSE, _BYTE, _DOUBLE, _BINARY = 0, 1, 2, 3, 7, 8
_NUMBERS = (4, 5, 6)  # of 16, 32 and 64 bits, all written alike
_LISTS, _MAP, _STRUCT = (9, 10), 11, 12

Record = dict[int, Any]
"""Field number → a number, a Record, or a list of them; None for what is passed over."""


class Reader:
    """Reads one record after the other from `at` on; never beyond the end of the data."""

    def __init__(self, data: bytes, at: int = 0) -> None:
        self.data, self.at = data, at

    def record(self, depth: int = 0) -> Record:
        """The record that begins here."""
        found: Record = {}
        field = 0
        while True:
            head = self._byte()
            kind = head & 0x0F
            if kind == _STOP:
                return found
            field = field + (head >> 4) if head >> 4 else self._number()
            found[field] = self._value(kind, depth)

    def _value(self, kind: int, depth: int) -> Any:
        if depth > _DEEPEST:
            raise ValueError("records nested too deeply")
        if kind in (_TRUE, _FALSE):
            return None
        if kind == _BYTE:
            return self._byte()
        if kind in _NUMBERS:
            return self._number()
        if kind == _DOUBLE:
            return self._skip(8)
        if kind == _BINARY:
            return self._skip(self._size())
        if kind in _LISTS:
            return self._list(depth)
        if kind == _STRUCT:
            return self.record(depth + 1)
        raise ValueError(f"a field of an unknown kind {kind}")

    def _list(self, depth: int) -> list[Any]:
        head = self._byte()
        size = head >> 4 if head >> 4 < 15 else self._size()
        kind = head & 0x0F
        if size > len(self.data) - self.at:
            raise ValueError("a list longer than the data")
        if kind in (_TRUE, _FALSE):
            self._skip(size)
            return []
        return [self._value(kind, depth + 1) for _ in range(size)]

    def _byte(self) -> int:
        if not 0 <= self.at < len(self.data):
            raise ValueError("it ends too early")
        self.at += 1
        return self.data[self.at - 1]

    def _size(self) -> int:
        number = shift = 0
        while shift < 70:
            byte = self._byte()
            number |= (byte & 0x7F) << shift
            if not byte & 0x80:
                return number
            shift += 7
        raise ValueError("a number that does not end")

    def _number(self) -> int:
        """Zigzag: signs alternate, 0, −1, 1, −2 …"""
        number = self._size()
        return (number >> 1) ^ -(number & 1)

    def _skip(self, size: int) -> None:
        if size > len(self.data) - self.at:
            raise ValueError("it ends too early")
        self.at += size
