"""Headers, units and cells of countless letters: no log has them, and a stranger's file may."""

from pathlib import Path

import numpy as np
import pytest

from tests.patience import at_most
from tuneledger.logs import open_log
from tuneledger.roles import identify
from tuneledger.units import parse_unit

ROWS = [f"{n / 10:.1f},{900 + n},12.5" for n in range(60)]


@pytest.mark.parametrize(
    "header",
    ["a/" * 100_000, "Rev " + "[xyz]" * 40_000, "a_" * 100_000, "Rev" + " rpm/s" * 40_000],
    ids=["slashes", "brackets", "low lines", "units"],
)
def test_a_name_of_countless_letters_is_cut(header: str, tmp_path: Path) -> None:
    file = tmp_path / "run.csv"
    file.write_text("\n".join([f"Time [s],{header},Spark out [deg]", *ROWS, ""]))
    with at_most(10.0):
        log = open_log(file)
        identify(log)
    name = log.channels[1].name
    assert len(name) == 200
    assert name.endswith("…")
    assert log.values(log.channels[1])[:2].tolist() == [900.0, 901.0]


@pytest.mark.parametrize(
    "label", ["(" * 200_000 + ")" * 200_000, "rpm" + "/s" * 200_000], ids=["brackets", "rates"]
)
def test_a_unit_of_countless_letters_is_none(label: str, tmp_path: Path) -> None:
    file = tmp_path / "run.csv"
    file.write_text("\n".join(["Time,Rev,Spark out", f"s,{label},deg", *ROWS, ""]))
    with at_most(10.0):
        open_log(file)
        assert parse_unit(label) is None


@pytest.mark.parametrize("cell", ["9" * 150_000 + "!!", "1e" + "9" * 150_000 + "!"])
def test_a_cell_of_countless_digits_is_no_number(cell: str, tmp_path: Path) -> None:
    file = tmp_path / "run.csv"
    file.write_text(
        "\n".join(["Time [s],Rev,Spark out", *ROWS[:30], f"3.0,930,{cell}", *ROWS[31:]])
    )
    with at_most(10.0):
        log = open_log(file)
        values = log.values(log.channels[2])
    assert np.isfinite(values).sum() == 59
