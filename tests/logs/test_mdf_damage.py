"""ASAM MDF with damage that looks like size: told as damage, at once, and not as a limit.

Outside reference: files that the library asammdf writes, whose blocks it places.
"""

import struct
from pathlib import Path

import numpy as np
import pytest
from asammdf import MDF, Signal

from tests.logs.packing import refusal
from tuneledger.logs.mdf.damage import goes_round

TIMES = np.arange(60) / 20.0


def recorded(path: Path, version: str) -> tuple[Path, list[int]]:
    """A file of three groups of two channels; where its first data group, channel group and channel
    stand."""
    with MDF(version=version) as mdf:
        for i in range(3):
            mdf.append([Signal(TIMES + k, TIMES, name=f"Spark {i}{k}") for k in range(2)])
        out = Path(mdf.save(path, overwrite=True))
    with MDF(out) as mdf:
        first = mdf.groups[0]
        blocks = (first.data_group, first.channel_group, first.channels[0])
        return out, [block.address for block in blocks]


def patched(path: Path, place: int, form: str, value: int) -> Path:
    data = bytearray(path.read_bytes())
    struct.pack_into(form, data, place, value)
    path.write_bytes(data)
    return path


@pytest.mark.parametrize(("version", "start", "form"), [("3.30", 4, "<I"), ("4.10", 24, "<Q")])
def test_a_chain_of_blocks_without_an_end_is_seen(
    version: str, start: int, form: str, tmp_path: Path
) -> None:
    path, blocks = recorded(tmp_path / "run.mdf", version)
    whole = path.read_bytes()
    assert not goes_round(path)
    for block in blocks:
        assert goes_round(patched(path, block + start, form, block))
        path.write_bytes(whole)
    assert not goes_round(patched(path, blocks[1] + start, form, len(whole) - 2))


@pytest.mark.parametrize(
    ("version", "block", "offset", "form", "value"),
    [("4.10", 1, 24, "<Q", None), ("3.30", 1, 22, "<I", 0xFFFFFFFF)],
    ids=["a circle of groups", "four thousand million records"],
)
def test_damage_that_looks_like_size_is_told_as_damage(
    version: str, block: int, offset: int, form: str, value: int | None, tmp_path: Path
) -> None:
    path, blocks = recorded(tmp_path / "run.mdf", version)
    place = blocks[block]
    told = str(refusal(patched(path, place + offset, form, place if value is None else value)))
    assert f"{path.name}: it is damaged, or cut short. Copy it" in told
    assert "--large" not in told
