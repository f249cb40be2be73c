"""Images: bytes by address, whatever the form; what is missing or damaged is said with its place.

Written by hexrec, an independent library; the forms are those of the Intel HEX specification
(1988) and of Motorola's S-records.
"""

import random
import tracemalloc
from collections.abc import Callable

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.calibrations.asam.making import Memory, intel, motorola
from tuneledger.calibrations.asam import images
from tuneledger.calibrations.asam.images import read_image
from tuneledger.calibrations.asam.parameter import NotRepresentedError
from tuneledger.calibrations.asam.tell import told
from tuneledger.errors import CalibrationError

FORMS = pytest.mark.parametrize("form", [intel, motorola])
Form = Callable[[Memory], str]


@FORMS
@settings(deadline=None, max_examples=25)
@given(
    st.dictionaries(
        st.integers(0, 2**24 - 1).map(lambda n: n * 256),
        st.binary(min_size=1, max_size=200),
        max_size=8,
    ).filter(bool),
    st.randoms(use_true_random=False),
)
def test_every_byte_is_found_at_its_address_in_any_order_of_records(
    form: Form, memory: Memory, shuffle: random.Random
) -> None:
    lines = form(memory).splitlines()
    if form is motorola:
        shuffle.shuffle(lines)
    image = read_image("\n".join(lines), "an image")
    assert all(image.read(address, len(data)) == data for address, data in memory.items())


@FORMS
def test_an_image_is_told_by_its_content(form: Form) -> None:
    assert told(form({0x8000: b"\x01\x02"}).encode()) == "image"


@FORMS
def test_missing_bytes_are_said_with_address_and_size(form: Form) -> None:
    image = read_image(form({0x8000: bytes(16), 0x9000: bytes(4)}), "an image")
    with pytest.raises(NotRepresentedError, match="8 bytes at 0x00008010 are not in the image"):
        image.read(0x8008, 16)
    with pytest.raises(NotRepresentedError, match="4 bytes at 0x00001000"):
        image.read(0x1000, 4)
    assert image.spans == "0x00008000 to 0x0000800F, 0x00009000 to 0x00009003"


def test_a_shifted_image_says_both_addresses() -> None:
    image = read_image(intel({0x100: b"ab"}), "an image", shift=-0x80000000)
    assert image.read(0x80000100, 2) == b"ab"
    with pytest.raises(NotRepresentedError, match=r"0x00000102 \(0x80000102 of the description\)"):
        image.read(0x80000102, 2)


@FORMS
def test_a_damaged_record_is_refused_with_its_line(form: Form) -> None:
    lines = form({0x8000: bytes(range(64))}).splitlines()
    broken = lines[2][:-3] + ("0" if lines[2][-3] != "0" else "1") + lines[2][-2:]
    with pytest.raises(CalibrationError, match=r"an image: line 3: a damaged record"):
        read_image("\n".join([*lines[:2], broken, *lines[3:]]), "an image")


@FORMS
def test_an_image_without_its_end_is_read_with_a_note(form: Form) -> None:
    whole = form({0x8000: bytes(64)}).splitlines()
    assert read_image("\n".join(whole), "an image").notes == ()
    cut = read_image("\n".join(whole[:-1]), "an image")
    assert cut.notes == ("an image has no end record; it may be cut short",)


def test_bytes_given_twice_must_be_the_same() -> None:
    first, second = intel({0x10: b"abcd"}), intel({0x12: b"cdef"})
    same = first.splitlines()[0] + "\n" + second
    assert read_image(same, "an image").read(0x10, 6) == b"abcdef"
    other = first.splitlines()[0] + "\n" + intel({0x12: b"xdef"})
    with pytest.raises(CalibrationError, match="two records give other bytes from 0x00000012"):
        read_image(other, "an image")


def test_falling_addresses_cost_no_more_than_rising_ones() -> None:
    """A hostile order: each record before the one that came last."""
    memory = {16 * n: bytes([n % 256]) * 16 for n in range(4096)}
    records = [line for line in intel(memory).splitlines() if line[7:9] == "00"]
    image = read_image("\n".join([*reversed(records), ":00000001FF"]), "an image")
    assert image.starts == (0,)
    assert len(image.pieces[0]) == 16 * 4096


def byte_by_byte(addresses: range) -> str:
    """S3 records that hold one byte each."""
    lines = []
    for address in addresses:
        body = bytes([6]) + address.to_bytes(4, "big") + bytes([address & 255])
        lines.append(f"S3{body.hex().upper()}{~sum(body) & 255:02X}")
    return "\n".join(lines)


def test_short_records_take_no_more_memory_than_their_bytes() -> None:
    text = byte_by_byte(range(10_000))
    read_image(byte_by_byte(range(3)), "an image")  # what is loaded at first use is not counted
    tracemalloc.start()
    image = read_image(text, "an image")
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert len(image.pieces[0]) == 10_000
    assert peak < 200_000


@pytest.mark.parametrize(
    ("limit", "addresses", "says"),
    [
        ("RECORDS", range(101), "line 101: the image has more than 100 records"),
        ("RUNS", range(202, 0, -2), "line 101: the image has more than 100 records that do not"),
        ("PIECES", range(0, 202, 2), "the image is in more than 100 pieces apart"),
    ],
)
def test_more_records_than_are_taken_in_are_refused_with_what_to_do(
    limit: str, addresses: range, says: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(images, limit, 100)
    with pytest.raises(CalibrationError, match=says) as raised:
        read_image(byte_by_byte(addresses), "an image")
    assert "Write" in str(raised.value)
