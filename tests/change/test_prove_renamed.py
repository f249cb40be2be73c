"""A second log that calls its channels otherwise is held against the first all the same."""

from pathlib import Path

import polars as pl
import pytest

from tuneledger.change.proof import Proof
from tuneledger.change.prove import prove

DEMO = Path(__file__).parents[2] / "demo"


def held(folder: Path, inlet: str) -> Proof:
    """The demo's climb against one without the hot charge-air retard and with that inlet name."""
    log = pl.read_csv(DEMO / "climb.csv")
    log = log.with_columns(pl.col("Spark base (deg)").alias("Spark used (deg)"))
    file = folder / "friday.csv"
    log.rename({"Inlet temp (°C)": inlet}).write_csv(file)
    return prove([DEMO / "climb.csv"], [file], [DEMO / "rev-d.toml"], memory=False)


def test_a_rule_is_carried_out_on_the_channel_that_is_read_as_the_same_signal(
    tmp_path: Path,
) -> None:
    one = held(tmp_path, "Ansaugluft (°C)").causes[0]
    assert one.cause.rule is not None
    assert one.state == "gone"
    assert "Inlet temp is Ansaugluft in friday.csv." in one.says


@pytest.mark.parametrize("inlet", ["Thing 7"])
def test_what_is_read_as_no_signal_is_not_carried(tmp_path: Path, inlet: str) -> None:
    one = held(tmp_path, inlet).causes[0]
    assert one.state == "not shown"
    assert "the second log does not carry Inlet temp" in one.says
