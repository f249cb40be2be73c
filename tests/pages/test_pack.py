"""Arrays come back from a page to the last digit, read by the page's own module."""

import base64
import json
import shutil
import subprocess
import zlib
from importlib.resources import files

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tuneledger.arrays import FloatArray
from tuneledger.pages.pack import Packed, Packer, exact_decimals

needs_node = pytest.mark.skipif(shutil.which("node") is None, reason="no JavaScript runtime here")


def unpacked(packer: Packer, packed: Packed) -> FloatArray:
    """A plain, slow reader, written from the docstring alone."""
    blob = zlib.decompress(base64.b64decode(packer.base64()))
    at, count = packed["offset"], packed["count"]
    here = [True] * count
    if packed["gaps"]:
        here = [bool(blob[at + i // 8] >> (i % 8) & 1) for i in range(count)]
        at += (count + 7) // 8
    n, width = sum(here), packed["width"]
    steps = [
        int.from_bytes(bytes(blob[at + p * n + i] for p in range(width)), "little", signed=True)
        for i in range(n)
    ]
    whole = iter(np.cumsum(steps, dtype=np.int64).tolist())
    return np.array([next(whole) / 10 ** packed["decimals"] if h else np.nan for h in here])


@given(
    st.lists(st.one_of(st.integers(-(10**6), 10**6), st.just(None)), min_size=0, max_size=60),
    st.integers(0, 3),
)
def test_decimal_numbers_come_back_to_the_last_digit(whole: list[int | None], places: int) -> None:
    values = np.array([np.nan if v is None else v / 10**places for v in whole], dtype=np.float64)
    packer = Packer()
    packed = packer.add(values)
    np.testing.assert_array_equal(unpacked(packer, packed), values)


@given(st.lists(st.floats(-60, 60), min_size=1, max_size=50))
def test_a_computed_angle_is_off_by_half_a_hundredth_at_most(values: list[float]) -> None:
    packer = Packer()
    packed = packer.add(np.array(values), 2)
    assert packed["decimals"] <= 2
    assert np.abs(unpacked(packer, packed) - values).max() <= 0.005 + 1e-9


@settings(max_examples=30)
@given(st.floats(1e-6, 1e9), st.floats(-3, 3))
def test_a_channel_of_any_size_keeps_four_digits_of_its_range(span: float, base: float) -> None:
    values = base * span + span * np.linspace(0, 1, 17) ** 2 / 3
    packer = Packer()
    off = np.abs(unpacked(packer, packer.add(values)) - values).max()
    assert off <= span / 10_000


def test_the_same_array_is_carried_once() -> None:
    packer = Packer()
    times = np.arange(500) / 100
    assert packer.add(times) == packer.add(times.copy())


def test_decimals_are_found_as_a_file_has_them() -> None:
    assert exact_decimals(np.array([1.0, 2.0])) == 0
    assert exact_decimals(np.array([14.7, 14.69])) == 2
    assert exact_decimals(np.array([1 / 3])) is None


def test_regular_times_of_a_long_log_cost_next_to_nothing() -> None:
    packer = Packer()
    packer.add(np.arange(90_000) / 100)
    assert len(packer.base64()) < 2_000


@needs_node
def test_the_module_in_the_page_reads_what_was_packed() -> None:
    noise = np.random.default_rng(3)
    arrays = [
        np.round(noise.normal(20, 9, 3000), 1),
        np.where(noise.random(3000) < 0.3, np.nan, np.round(noise.normal(0, 900, 3000))),
        np.full(7, np.nan),
        np.empty(0),
        np.array([0, 1e6, -1e6, 5.5, -0.5]),
        noise.normal(0, 1e8, 50),
    ]
    packer = Packer()
    packed = [packer.add(array) for array in arrays]
    module = files("tuneledger.pages").joinpath("web/unpack.js")
    script = f"""
      import {{ inflate, unpack }} from {json.dumps(f"file://{module}")};
      const bytes = await inflate({json.dumps(packer.base64())});
      const out = {json.dumps(packed)}.map((p) => [...unpack(bytes, p)]);
      console.log(JSON.stringify(out));
    """
    run = subprocess.run(
        ["node", "--input-type=module", "-"],
        input=script,
        capture_output=True,
        text=True,
        check=True,
    )
    for ours, theirs in zip(packed, json.loads(run.stdout), strict=True):
        expected = unpacked(packer, ours)
        np.testing.assert_array_equal(np.array(theirs, dtype=np.float64), expected)
