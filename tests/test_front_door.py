"""`import tuneledger as tl`: what it offers, and that nothing is loaded before it is used."""

import subprocess
import sys

import pytest

import tuneledger as tl

NAMES = [name for name in tl.__all__ if name != "__version__"]


@pytest.mark.parametrize("name", NAMES)
def test_what_is_offered_is_a_function_also_after_everything_is_loaded(name: str) -> None:
    from tuneledger.main_job import reconcile_files

    assert callable(reconcile_files)
    assert callable(getattr(tl, name))
    assert callable(getattr(tl, name)), "and a second time"


def test_the_front_door_loads_nothing_before_it_is_used() -> None:
    code = "import sys, tuneledger; print(*sys.modules)"
    out = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert not {"numpy", "polars", "pydantic", "click", "rich"} & set(out.stdout.split())


def test_what_is_not_offered_is_refused() -> None:
    with pytest.raises(AttributeError, match="no attribute 'nothing'"):
        _ = tl.nothing
