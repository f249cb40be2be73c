"""Puts the demo's real statement into the README: `python -m benchmarks.paste README.md`."""

import os
import re
import subprocess
import sys
import tempfile
from pathlib import Path

from benchmarks.tools import installed

ROOT = Path(__file__).parents[1]
BLOCK = re.compile(r"(<!-- demo -->\n).*?(<!-- /demo -->)", re.DOTALL)
FILES = ("demo/climb.csv", "demo/rev-d.toml", "demo/rev-c.toml", "demo/rev-b.toml")


def _checkout() -> dict[str, str]:
    """Where this checkout's package lies, if it is not the installed one."""
    path = os.environ.get("PYTHONPATH")
    return {"PYTHONPATH": path} if path else {}


def statement() -> str:
    """What `tuneledger reconcile` prints for the demo, as it prints where it is piped."""
    with tempfile.TemporaryDirectory() as home:  # nothing remembered, nothing left behind
        done = subprocess.run(
            [installed("tuneledger"), "reconcile", *FILES, "--no-memory"],
            cwd=ROOT,
            env={"HOME": home, "PATH": "", "PYTHONUTF8": "1", **_checkout()},
            capture_output=True,
            text=True,
            encoding="utf-8",
            check=False,
        )
    if done.returncode != 1:
        raise RuntimeError(f"the demo ended with {done.returncode}: {done.stderr}")
    return done.stdout.rstrip() + "\n"


def pasted(page: str, text: str) -> str:
    """The page with the statement in its block."""
    command = f"$ tuneledger reconcile {' '.join(FILES)}"
    block = f"```text\n{command}\n{text}```\n"
    return BLOCK.sub(lambda found: f"{found[1]}\n{block}\n{found[2]}", page)


def main() -> None:
    """Paste it."""
    path = Path(sys.argv[1])
    path.write_text(pasted(path.read_text(encoding="utf-8"), statement()), encoding="utf-8")


if __name__ == "__main__":
    main()
