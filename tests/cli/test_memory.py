"""What is freed is kept by a command and handed back by the desk, where the C library allows."""

import ctypes
import platform
import subprocess
import sys

import pytest

from tuneledger.cli import memory

TAKE_AND_FREE = """
import resource, sys
import numpy as np
from tuneledger.cli import memory
memory.keep_freed() if sys.argv[1] == "keep" else memory.hand_back_freed()
for _ in range(400):
    np.ones(90_000)
print(resource.getrusage(resource.RUSAGE_SELF).ru_minflt)
"""


@pytest.mark.skipif(platform.libc_ver()[0] != "glibc", reason="only glibc can be told")
def test_freed_columns_are_used_again_and_not_mapped_anew() -> None:
    """Each of 400 columns has 176 pages; mapped anew they would be 70,000 page faults."""
    command = [sys.executable, "-c", TAKE_AND_FREE, "keep"]
    done = subprocess.run(command, capture_output=True, text=True, check=True)
    nothing = [sys.executable, "-c", TAKE_AND_FREE.replace("range(400)", "range(0)"), "keep"]
    without = subprocess.run(nothing, capture_output=True, text=True, check=True)
    assert int(done.stdout) - int(without.stdout) < 10_000
    assert memory.hand_back_freed()


@pytest.mark.parametrize("problem", [OSError, AttributeError, TypeError])
def test_another_c_library_is_left_alone(
    problem: type[Exception], monkeypatch: pytest.MonkeyPatch
) -> None:
    def none(_: object) -> ctypes.CDLL:
        raise problem

    monkeypatch.setattr(ctypes, "CDLL", none)
    assert not memory.keep_freed()
    assert not memory.hand_back_freed()
