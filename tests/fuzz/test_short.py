"""The same few damaged files of every format each time; `make fuzz` tries as many as one likes."""

from pathlib import Path

import pytest

from tests.fuzz.child import broken
from tests.fuzz.samples import SAMPLES
from tests.fuzz.uses import USES
from tuneledger.errors import TuneledgerError

EACH = 24
QUICK = [form for form in SAMPLES if not form.startswith("MDF")]  # whose reader runs apart


def refused(form: str, file: Path) -> bool:
    """Whether a file was refused; anything but a refusal of ours goes through."""
    try:
        USES[form](file)
    except TuneledgerError as error:
        told = [fault.found for fault in error.faults]
    else:
        return False
    assert told
    assert all(0 < len(one) < 600 for one in told)
    return True


@pytest.mark.parametrize("form", SAMPLES)
def test_whole_files_are_read(form: str, tmp_path: Path) -> None:
    for sample in SAMPLES[form](tmp_path):
        (tmp_path / "whole").write_bytes(sample)
        assert not refused(form, tmp_path / "whole")


@pytest.mark.parametrize("form", QUICK)
def test_damaged_files_are_read_or_refused_in_words(form: str, tmp_path: Path) -> None:
    samples = list(SAMPLES[form](tmp_path))
    told = 0
    for number in range(EACH):
        (tmp_path / "damaged").write_bytes(broken(samples, form, "short", number))
        told += refused(form, tmp_path / "damaged")
    assert told > 0
