"""What happens to files on their way: cut short, bits turned, pieces lost, doubled or mixed in."""

import random

WORDS = (
    *(b"/begin ", b"/end ", b'"', b"/*", b"0xFFFFFFFF", b"-1", b"1e999", b"\x00", b"<", b"&x;"),
    *(b"[", b"]", b"{", b"}", b"9" * 30, b"\xff\xfe", b",", b";", b"\n", b"nan", b"="),
)


def damaged(whole: bytes, chance: random.Random) -> bytes:
    """The file after one to three mishaps."""
    data = bytearray(whole)
    for _ in range(chance.choice((1, 1, 1, 2, 3))):
        chance.choice(MISHAPS)(data, chance)
    return bytes(data)


def _cut(data: bytearray, chance: random.Random) -> None:
    del data[chance.randrange(len(data) + 1) :]


def _turn_bits(data: bytearray, chance: random.Random) -> None:
    for _ in range(chance.choice((1, 1, 4, 16))):
        if data:
            data[chance.randrange(len(data))] ^= 1 << chance.randrange(8)


def _lose(data: bytearray, chance: random.Random) -> None:
    at = chance.randrange(len(data) + 1)
    del data[at : at + chance.choice((1, 2, 16, 200))]


def _double(data: bytearray, chance: random.Random) -> None:
    at = chance.randrange(len(data) + 1)
    data[at:at] = data[at : at + chance.choice((1, 8, 64, 500))]


def _mix_in(data: bytearray, chance: random.Random) -> None:
    at = chance.randrange(len(data) + 1)
    data[at:at] = chance.choice(WORDS) * chance.choice((1, 1, 3, 100))


def _swap(data: bytearray, chance: random.Random) -> None:
    size = chance.choice((1, 4, 32))
    one, other = (chance.randrange(len(data) + 1) for _ in range(2))
    low, high = min(one, other), max(one, other)
    if high - low >= size and high + size <= len(data):
        kept = bytes(data[low : low + size])
        data[low : low + size] = data[high : high + size]
        data[high : high + size] = kept


def _number(data: bytearray, chance: random.Random) -> None:
    """Another digit in place of one: what is still well formed, and says something else."""
    digits = [index for index, byte in enumerate(data) if 0x30 <= byte <= 0x39]
    for _ in range(3):
        if digits:
            data[chance.choice(digits)] = chance.choice(b"0123456789")


MISHAPS = (_cut, _turn_bits, _lose, _double, _mix_in, _swap, _number)
