"""Files that came to harm: whatever is done to them, they are read or refused in words.

The same few hundred of them every time; `make fuzz` tries as many as one likes.
"""

import random
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.calibrations.asam import kestrel
from tests.fuzz.damage import damaged
from tuneledger.calibrations import open_calibration
from tuneledger.calibrations.asam.cdf.write import as_cdf
from tuneledger.calibrations.asam.files import Wishes, open_store, sort_files
from tuneledger.calibrations.asam.mapping.back import parameters_of
from tuneledger.calibrations.asam.mapping.choose import choose
from tuneledger.calibrations.text import parse
from tuneledger.errors import TuneledgerError

EACH = 150


def make(folder: Path) -> str:
    """What a sheet is made of in a folder, as `tuneledger sheet from` does it; its text."""
    given = sort_files([folder / name for name in kestrel.FILES])
    if not given.sheets:
        return ""
    store = open_store(given, Wishes(mismatched=True))
    list(store.entries())
    mapping = given.sheets[0].read_text(encoding="utf-8", errors="replace")
    return choose(parse(mapping, "mapping.toml"), store, "mapping.toml").text("files")


@pytest.mark.parametrize("name", kestrel.FILES)
def test_a_damaged_file_is_read_or_refused_in_words(name: str, tmp_path: Path) -> None:
    kestrel.write(tmp_path)
    whole = (tmp_path / name).read_bytes()
    chance = random.Random(f"damage to {name}")
    refused = sum(
        not tried(lambda n=n: make(damage(tmp_path, name, whole, chance))) for n in range(EACH)
    )
    assert 0 < refused <= EACH


def test_damaged_calibration_data_are_read_or_refused_in_words(tmp_path: Path) -> None:
    sheet = open_calibration(Path(__file__).parents[3] / "demo" / "rev-d.toml")
    mapping = parse(kestrel.MAPPING)
    whole = as_cdf(parameters_of(sheet, mapping).parameters.values(), "Kestrel").encode()
    chance = random.Random("damage to calibration data")

    def use() -> None:
        data = damaged(whole, chance)
        (tmp_path / "d.cdfx").write_bytes(data)
        choose(mapping, open_store(sort_files([tmp_path / "d.cdfx"])), "mapping.toml")

    refused = sum(not tried(use) for _ in range(EACH))
    assert 0 < refused <= EACH


def damage(folder: Path, name: str, whole: bytes, chance: random.Random) -> Path:
    (folder / name).write_bytes(damaged(whole, chance))
    return folder


def tried(use: Callable[[], object]) -> bool:
    """Whether it could be used; a refusal has to be one of ours, and short."""
    try:
        use()
    except TuneledgerError as error:
        told = [fault.found for fault in error.faults]
    else:
        return True
    assert told
    assert all(len(one) < 400 for one in told)
    return False
