"""Names with the source that measured them behind a backslash, as ASAM MDF tools write them.

A convention of tools that measure over several ports: common practice, no source.
"""

from pathlib import Path

import numpy as np
import pytest
from asammdf import MDF, Signal

from tuneledger.logs import open_log
from tuneledger.logs.delimited.sources import without_sources
from tuneledger.roles import identify
from tuneledger.roles.again import counted_again
from tuneledger.roles.facts import gather

TIMES = np.arange(300) / 25.0


def measured(path: Path, *groups: dict[str, np.ndarray]) -> Path:
    with MDF(version="4.10") as mdf:
        for group in groups:
            mdf.append([Signal(values, TIMES, name=name) for name, values in group.items()])
        mdf.save(path, overwrite=True)
    return path


def test_a_channel_is_found_without_its_source_and_with_it(tmp_path: Path) -> None:
    names = ("n_mot", "tAir", "Fog lamp")
    run = {f"{name}\\Bus:2": TIMES + i for i, name in enumerate(names)}
    log = open_log(measured(tmp_path / "run.mf4", run))
    assert [c.name for c in log.channels][:3] == [*names]
    for i, name in enumerate(names):
        found = log.find(name)
        assert found is not None
        assert found == log.find(f"{name}\\bus:2")
        assert np.allclose(log.values(found), TIMES + i)


def test_two_sources_of_one_name_stay_apart(tmp_path: Path) -> None:
    one = {"n_mot\\Bus:1": TIMES, "tAir\\Bus:1": TIMES + 1.0}
    log = open_log(measured(tmp_path / "run.mf4", one, {"n_mot\\Gateway:1": TIMES + 5.0}))
    assert log.find("n_mot") is None
    assert log.find("tAir") is not None
    by_name = {c.name: log.values(c)[0] for c in log.channels}
    assert by_name["n_mot\\Bus:1"] == 0.0
    assert by_name["n_mot\\Gateway:1"] == 5.0


@pytest.mark.parametrize("ending", ["csv", "parquet"])
def test_a_table_that_was_exported_from_mdf_keeps_units_and_loses_sources(
    ending: str, tmp_path: Path
) -> None:
    import polars as pl

    table = pl.DataFrame(
        {
            "time [s]": TIMES,
            "Rev\\Bus:1 [rpm]": 900.0 + TIMES,
            "Air\\Bus:1 [degC]": 30.0 + TIMES,
            "Rain\\CAN:2": np.zeros(TIMES.size),
        }
    )
    path = tmp_path / f"run.{ending}"
    table.write_csv(path) if ending == "csv" else table.write_parquet(path)
    found = {c.name: c.unit for c in open_log(path).channels}
    assert found == {"time": "s", "Rev": "rpm", "Air": "degC", "Rain": ""}


def test_a_source_changes_nothing_in_what_a_name_says(tmp_path: Path) -> None:
    rng = np.random.default_rng(3)
    speed = 2000.0 + np.cumsum(rng.normal(0.0, 20.0, TIMES.size))
    run = {"Engine speed": speed, "Coolant temperature": 85.0 + 0.2 * TIMES, "Oil pressure": speed}
    plain = open_log(measured(tmp_path / "plain.mf4", run))
    dressed = measured(tmp_path / "dressed.mf4", {f"{k}\\Bus:1": v for k, v in run.items()})
    both = measured(
        tmp_path / "both.mf4",
        {f"{k}\\Bus:1": v for k, v in run.items()},
        {"Oil pressure\\CAN:1": speed},
    )
    signals = ("engine speed", "engine coolant temperature", "oil pressure")
    bare, sourced, apart = (identify(log) for log in (plain, open_log(dressed), open_log(both)))
    for signal in signals:
        assert [(d.signal, d.why) for d in bare.doubts] == [
            (d.signal, d.why) for d in sourced.doubts
        ]
        one, other = bare.get(signal), sourced.get(signal)
        assert (one and one.certainty) == (other and other.certainty)
    speed_role = apart.get("engine speed")
    assert speed_role is not None
    assert speed_role.channel.name == "Engine speed"


@pytest.mark.parametrize(
    ("names", "expected"),
    [
        (["Engine\\Speed", "Engine\\Load", "Oil\\Temp"], None),  # folders
        (["Speed\\ECU", "Load\\ECU", "Temp\\ECU", "Rain\\Box"], ["Speed", "Load", "Temp", "Rain"]),
        (["Speed\\Bus:1", "SPEED\\Bus:1"], ["Speed", "SPEED"]),  # twins of one source
        (["Speed", "Speed\\Bus:1", "Load\\Bus:1"], ["Speed", "Speed\\Bus:1", "Load"]),
        (["a\\b"], None),
        (["\\Bus:1", "Speed\\", "Speed"], None),
        (["Temp\\Box\\Thermo:12"], ["Temp"]),
    ],
)
def test_what_a_source_is_and_what_a_folder(names: list[str], expected: list[str] | None) -> None:
    assert without_sources(names) == (expected or names)


@pytest.mark.parametrize(("other", "first"), [("n_mot\\CAN:1", True), ("n_mot\\XCP:1", False)])
def test_a_channel_that_is_measured_twice_is_no_rival_of_itself(
    other: str, first: bool, tmp_path: Path
) -> None:
    rng = np.random.default_rng(3)
    speed = np.round(2000.0 + np.cumsum(rng.normal(0.0, 20.0, TIMES.size)))
    fast = Signal(speed, TIMES, name="n_mot\\XCP:1", unit="rpm")
    slow = Signal(speed[::10], TIMES[::10], name=other, unit="rpm")
    with MDF(version="4.10") as mdf:
        for signal in (slow, fast) if first else (fast, slow):
            mdf.append([signal])
        mdf.save(tmp_path / "run.mf4")
    log = open_log(tmp_path / "run.mf4")
    role = identify(log).get("engine speed")
    assert role is not None
    assert log.times(role.channel).size == TIMES.size  # the one on the finer raster


def test_two_that_only_share_a_name_stay_rivals(tmp_path: Path) -> None:
    speed = 900.0 + 4000.0 * np.abs(np.sin(TIMES))
    run = {"n_mot\\XCP:1": speed, "tAir\\XCP:1": TIMES}
    log = open_log(measured(tmp_path / "run.mf4", run, {"n_mot\\CAN:1": speed / 2.0}))
    facts = gather(log, {})
    assert not counted_again(log, facts).any()
