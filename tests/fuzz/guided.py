"""Damage led by coverage: what reaches new lines of a reader is damaged further (atheris).

`python -m tests.fuzz.guided --runs 20000` goes through the readers that are written in Python;
those of other libraries are in `python -m tests.fuzz`. A failing file lies in `fuzz-out`.
"""

import argparse
import re
import subprocess
import sys
import tempfile
from importlib.util import find_spec
from pathlib import Path

from tests.fuzz.samples import SAMPLES

FORMS = (
    *("description", "Intel HEX", "S-record", "calibration data", "sheet", "mapping"),
    *("pasted block", "roles", "changes", "delimited text"),
)
SECONDS = 20  # for one file
_LONGEST = 60_000  # bytes of a file


def main() -> int:
    told = argparse.ArgumentParser(prog="python -m tests.fuzz.guided")
    told.add_argument("--runs", type=int, default=20_000, help="files of each format")
    told.add_argument("--only", action="append", choices=FORMS, help="this format")
    told.add_argument("--seed", type=int, default=1)
    options = told.parse_args()
    if find_spec("atheris") is None:
        print("Fuzzing led by coverage is left out: atheris is not made for this system.")
        return 0
    failed = False
    print(f"{'format':<18}{'files':>8}{'reached':>9}{'failed':>8}")
    for form in options.only or FORMS:
        with tempfile.TemporaryDirectory(prefix="tuneledger-fuzz-") as corpus:
            for number, sample in enumerate(SAMPLES[form](Path(corpus))):
                (Path(corpus) / f"whole-{number}").write_bytes(sample)
            done = _run(form, corpus, options.runs, options.seed)
        reached = re.findall(r"\bcov: (\d+)", done.stderr)
        files = re.findall(r"^#(\d+)", done.stderr, re.MULTILINE)
        print(
            f"{form:<18}{files[-1] if files else 0:>8}{reached[-1] if reached else 0:>9}"
            f"{int(done.returncode != 0):>8}",
            flush=True,
        )
        if done.returncode:
            failed = True
            print("\n".join(done.stderr.splitlines()[-25:]))
    return int(failed)


def _run(form: str, corpus: str, runs: int, seed: int) -> "subprocess.CompletedProcess[str]":
    kept = Path("fuzz-out")
    kept.mkdir(exist_ok=True)
    bounds = [f"-runs={runs}", f"-seed={seed}", f"-timeout={SECONDS}", f"-max_len={_LONGEST}"]
    rest = [*bounds, "-rss_limit_mb=4096", f"-artifact_prefix={kept}/guided-", corpus]
    return subprocess.run(
        [sys.executable, "-m", "tests.fuzz.guided_child", form, *rest],
        capture_output=True,
        text=True,
        errors="replace",
        check=False,
    )


if __name__ == "__main__":
    sys.exit(main())
