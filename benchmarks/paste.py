"""Puts what the demo really gives into the README: `python -m benchmarks.paste README.md`."""

import os
import re
import subprocess
import sys
import tempfile
from pathlib import Path

from benchmarks.tools import installed

ROOT = Path(__file__).parents[1]
BLOCK = re.compile(
    r"(?P<begin><!-- (?P<name>demo|reach) -->\n).*?(?P<end><!-- /(?P=name) -->)", re.DOTALL
)
FILES = ("demo/climb.csv", "demo/rev-d.toml", "demo/rev-c.toml", "demo/rev-b.toml")
SHEET = FILES[1]


def _checkout() -> dict[str, str]:
    """Where this checkout's package lies, if it is not the installed one."""
    path = os.environ.get("PYTHONPATH")
    return {"PYTHONPATH": path} if path else {}


def statement() -> str:
    """What `tuneledger reconcile` prints for the demo, as it prints where it is piped."""
    return f"{_printed('reconcile', *FILES, '--no-memory')}\n"


def reach() -> str:
    """The table of reach in what `tuneledger audit` prints for the demo's sheet."""
    printed = _printed("audit", SHEET)
    return printed[printed.index("Reach by ") :].partition("\n\n")[0] + "\n"


def _printed(*call: str) -> str:
    with tempfile.TemporaryDirectory() as home:  # nothing remembered, nothing left behind
        done = subprocess.run(
            [installed("tuneledger"), *call],
            cwd=ROOT,
            env={"HOME": home, "PATH": "", "PYTHONUTF8": "1", **_checkout()},
            capture_output=True,
            text=True,
            encoding="utf-8",
            check=False,
        )
    if done.returncode != 1:
        raise RuntimeError(f"the demo ended with {done.returncode}: {done.stderr}")
    return done.stdout.rstrip()


def pasted(page: str, statement: str, reach: str) -> str:
    """The page with the statement and the table of reach, each in its block."""
    command = f"$ tuneledger reconcile {' '.join(FILES)}"
    texts = {"demo": f"{command}\n{statement}", "reach": reach}

    def block(found: re.Match[str]) -> str:
        return f"{found['begin']}\n```text\n{texts[found['name']]}```\n\n{found['end']}"

    return BLOCK.sub(block, page)


def main() -> None:
    """Paste it."""
    path = Path(sys.argv[1])
    path.write_text(
        pasted(path.read_text(encoding="utf-8"), statement(), reach()), encoding="utf-8"
    )


if __name__ == "__main__":
    main()
