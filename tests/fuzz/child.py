"""Reads damaged files of one format, one after the other, and says how each went.

`python -m tests.fuzz.child FORMAT SEED FIRST COUNT FOLDER MEMORY`: one line for each file,
`NUMBER read`, `NUMBER refused` or `NUMBER failed WHAT`. A hang or a crash is the parent's to see.
"""

import random
import sys
import tempfile
import traceback
from pathlib import Path

from tests.fuzz.damage import damaged
from tests.fuzz.samples import SAMPLES
from tests.fuzz.uses import USES
from tuneledger.errors import TuneledgerError


def main(form: str, seed: str, first: int, count: int, kept: Path, memory: int) -> None:
    if form.startswith("MDF"):  # whose reader runs apart, within bounds of its own
        from tests.fuzz import forked
        from tuneledger.logs import mdf

        mdf.subprocess = forked  # type: ignore[assignment]
    else:
        _bound(memory)
    with tempfile.TemporaryDirectory(prefix="tuneledger-fuzz-") as name:
        folder = Path(name)
        samples = list(SAMPLES[form](folder))
        for number in range(first, first + count):
            data = broken(samples, form, seed, number)
            file = folder / "damaged"
            file.write_bytes(data)
            print(
                number, _went(form, file, kept / f"{form.replace(' ', '-')}-{number}"), flush=True
            )


def broken(samples: list[bytes], form: str, seed: str, number: int) -> bytes:
    """The file of this number: the same for the same seed."""
    chance = random.Random(f"{form} {seed} {number}")
    return damaged(samples[number % len(samples)], chance)


def _went(form: str, file: Path, kept: Path) -> str:
    try:
        USES[form](file)
    except TuneledgerError as error:
        told = [fault.found for fault in error.faults]
        return "refused" if told and all(told) else "failed refused without a word"
    except Exception as problem:  # whatever it is, it should have been one of ours
        kept.write_bytes(file.read_bytes())
        kept.with_suffix(".txt").write_text(traceback.format_exc(), encoding="utf-8")
        return f"failed {type(problem).__name__}"
    return "read"


def _bound(memory: int) -> None:
    try:
        import resource
    except ImportError:
        return
    resource.setrlimit(resource.RLIMIT_AS, (memory, memory))


if __name__ == "__main__":
    form, seed, first, count, kept, memory = sys.argv[1:]
    main(form, seed, int(first), int(count), Path(kept), int(memory))
