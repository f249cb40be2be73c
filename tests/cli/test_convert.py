"""`tuneledger convert`, as it is typed."""

from pathlib import Path

import numpy as np
import pytest

from tests.logs.packing import as_text, table
from tuneledger.cli.main import run
from tuneledger.logs import open_log


@pytest.mark.parametrize("ending", [".csv", ".parquet", ".arrow", ".mf4"])
def test_a_log_keeps_its_channels_units_and_values(
    ending: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    source = as_text(tmp_path / "run.txt")
    target = tmp_path / f"out{ending}"
    assert run(["convert", str(source), str(target)]) == 0
    assert "4 channels, 80 samples" in capsys.readouterr().out
    before, after = open_log(source), open_log(target)
    for channel in before.channels:
        if channel != before.time:
            other = after.find(channel.name)
            assert other is not None
            assert other.unit == channel.unit
            assert np.array_equal(after.values(other), before.values(channel))


def test_what_cannot_be_carried_over_is_said(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    rows = table().rows()
    lines = ["Time [s],Revs,Mode"] + [f"{r[0]},{r[1]},{'abc'[i % 3]}x" for i, r in enumerate(rows)]
    source = tmp_path / "run.csv"
    source.write_text("\n".join(lines) + "\n")
    assert run(["convert", str(source), str(tmp_path / "out.parquet")]) == 1
    assert "hold words and no numbers: Mode" in capsys.readouterr().out


def test_an_unknown_ending_writes_nothing(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    source = as_text(tmp_path / "run.csv")
    whole = source.read_bytes()
    assert run(["convert", str(source), str(tmp_path / "out.doc")]) == 2
    assert "cannot be written as '.doc'" in capsys.readouterr().err
    assert run(["convert", str(source), str(source)]) == 2
    assert not (tmp_path / "out.doc").exists()
    assert source.read_bytes() == whole
