"""What runs in a process apart finds this package, and nothing in the folder one works in."""

import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from openpyxl import Workbook

import tuneledger
from tuneledger.logs.writing.mdf import write_mdf
from tuneledger.logs.writing.model import Column, Table

STRANGER = "open('ran', 'w').close()\n"


def mdf(path: Path) -> None:
    times = np.arange(0.0, 5.0, 0.1)
    columns = (Column.of("Engine speed", "rpm", 900.0 + times),)
    with path.open("wb") as file:
        write_mdf([Table("run", times, columns)], file)


def workbook(path: Path) -> None:
    book = Workbook()
    sheet = book.worksheets[0]
    sheet.append(["Time (s)", "Engine speed (rpm)"])
    for i in range(60):
        sheet.append([i / 10, 900 + i])
    book.save(path)


@pytest.mark.parametrize(("name", "write"), [("run.mf4", mdf), ("run.xlsx", workbook)])
@pytest.mark.parametrize("module", ["json", "os", "tuneledger", "numpy"])
def test_a_module_that_lies_beside_a_log_is_never_run(
    name: str, write: Callable[[Path], None], module: str, tmp_path: Path
) -> None:
    write(tmp_path / name)
    (tmp_path / f"{module}.py").write_text(STRANGER)
    program = Path(sys.executable).with_name("tuneledger")
    done = subprocess.run(
        [program, "look", name, "--no-memory"],
        cwd=tmp_path,
        env={**os.environ, "PYTHONPATH": str(Path(tuneledger.__file__).parents[1])},
        capture_output=True,
        check=False,
    )
    assert done.returncode in (0, 3), done.stderr.decode()
    assert not (tmp_path / "ran").exists()
