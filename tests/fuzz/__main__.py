"""`python -m tests.fuzz --files 1000`: how many files of each format were tried, and how it went.

Exit status 1 where one failed, hung or broke its reader; what was read then lies in `fuzz-out`,
and the same seed makes the same files again.
"""

import argparse
import os
import queue
import subprocess
import sys
import tempfile
import threading
from collections import Counter
from dataclasses import dataclass, field
from pathlib import Path

from tests.fuzz.child import broken
from tests.fuzz.samples import SAMPLES

MEMORY = 4 << 30  # bytes of address space
SECONDS = 30.0  # for one file, a little more for the first
FAILURES = 20  # of a format, after which it is enough


@dataclass
class Outcome:
    """How the files of one format went."""

    counts: Counter[str] = field(default_factory=Counter)
    failures: list[str] = field(default_factory=list)

    @property
    def files(self) -> int:
        return self.counts.total()


def main() -> int:
    told = argparse.ArgumentParser(prog="python -m tests.fuzz")
    told.add_argument("--files", type=int, default=1000, help="of each format")
    told.add_argument("--seed", default="1")
    told.add_argument("--only", action="append", choices=list(SAMPLES), help="this format")
    told.add_argument("--first", type=int, default=0, help="number of the first file")
    options = told.parse_args()
    kept = Path("fuzz-out")
    kept.mkdir(exist_ok=True)
    print(f"{'format':<18}{'files':>7}{'read':>7}{'refused':>9}{'failed':>8}")
    failed = False
    for form in options.only or SAMPLES:
        found = tried(form, options.seed, options.first, options.files, kept)
        wrong = found.files - found.counts["read"] - found.counts["refused"]
        print(
            f"{form:<18}{found.files:>7}{found.counts['read']:>7}{found.counts['refused']:>9}"
            f"{wrong:>8}",
            flush=True,
        )
        for one in found.failures:
            print(f"  {one}")
        failed = failed or wrong > 0
    print(f"Seed {options.seed}; what failed lies in {kept}/." if failed else "None failed.")
    return int(failed)


def tried(form: str, seed: str, first: int, count: int, kept: Path) -> Outcome:
    """Have a child read the files; after a hang or a crash another goes on behind that file."""
    found = Outcome()
    number, end = first, first + count
    while number < end and len(found.failures) < FAILURES:
        number = _run(form, seed, number, end - number, kept, found)
    return found


def _run(form: str, seed: str, first: int, count: int, kept: Path, found: Outcome) -> int:
    """One child's files; the number of the next file.

    What a child that is ended leaves behind lies in a folder of its own.
    """
    with tempfile.TemporaryDirectory(prefix="tuneledger-fuzz-") as room:
        return _watched(form, seed, first, count, kept, found, room)


def _watched(
    form: str, seed: str, first: int, count: int, kept: Path, found: Outcome, room: str
) -> int:
    arguments = [form, seed, str(first), str(count), str(kept), str(MEMORY)]
    child = subprocess.Popen(
        [sys.executable, "-m", "tests.fuzz.child", *arguments],
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        text=True,
        env={**os.environ, "TMPDIR": room},
    )
    lines: queue.Queue[str | None] = queue.Queue()
    threading.Thread(target=_pump, args=(child, lines), daemon=True).start()
    at = first
    while at < first + count:
        try:
            line = lines.get(timeout=SECONDS + (30 if at == first else 0))
        except queue.Empty:
            child.kill()
            line, hung = None, True
        else:
            hung = False
        if line is None:
            child.wait()
            what = "hung" if hung else f"broke its reader (status {child.returncode})"
            found.counts["hung" if hung else "crashed"] += 1
            with tempfile.TemporaryDirectory() as folder:
                data = broken(list(SAMPLES[form](Path(folder))), form, seed, at)
            (kept / f"{form.replace(' ', '-')}-{at}").write_bytes(data)
            found.failures.append(f"file {at} {what}")
            return at + 1
        word, _, rest = line.partition(" ")[2].strip().partition(" ")
        found.counts[word] += 1
        if word == "failed":
            found.failures.append(f"file {at} {rest}")
        at += 1
    child.wait()
    return at


def _pump(child: "subprocess.Popen[str]", lines: "queue.Queue[str | None]") -> None:
    for line in child.stdout or ():
        lines.put(line)
    lines.put(None)


if __name__ == "__main__":
    sys.exit(main())
