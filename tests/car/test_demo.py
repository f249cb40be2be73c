"""The demo's files and the story that they tell."""

import tomllib
from pathlib import Path

import numpy as np
import polars as pl
import pytest

from tuneledger.car.big import write_big
from tuneledger.car.demo import make_demo
from tuneledger.car.ecu import Ecu
from tuneledger.car.sheets import calibration
from tuneledger.units import conversion

DEMO = Path(__file__).parents[2] / "demo"


@pytest.fixture(scope="module")
def log() -> dict[str, np.ndarray]:
    frame = pl.read_csv(DEMO / "climb.csv")
    return {
        name.partition(" (")[0]: (
            (frame[name] == "on").cast(pl.Float64).to_numpy()
            if frame[name].dtype == pl.String
            else frame[name].cast(pl.Float64).to_numpy()
        )
        for name in frame.columns
    }


SIGNALS = {
    "manifold absolute pressure": "Manifold pressure", "engine speed": "Engine speed",
    "throttle position": "Throttle", "intake air temperature": "Inlet temp",
    "engine coolant temperature": "Water temp", "oil pressure": "Oil press",
    "idle speed target": "Idle aim",
}  # fmt: skip


def replay(file: str, log: dict[str, np.ndarray]) -> dict[str, np.ndarray]:
    """What a sheet says of every row of the log, by the slow ECU."""
    ecu = Ecu(calibration(sheet(file)), fresh=True)
    steps = []
    for row, t in enumerate(log["Time"]):

        def read(kind: str, name: str, unit: str | None) -> float:
            return float(log[SIGNALS.get(name, name)][row])  # noqa: B023

        steps.append(ecu.step(float(t), read))
    out = {name: np.array([s.entries[name] for s in steps]) for name in steps[0].entries}
    return out | {"scheduled": np.array([s.scheduled for s in steps]),
                  "delivered": np.array([s.delivered for s in steps])}  # fmt: skip


def sheet(file: str) -> dict[str, object]:
    read = tomllib.loads((DEMO / file).read_text(encoding="utf-8"))
    return {k: v for k, v in read.items() if k != "format"}


def test_the_committed_files_come_out_again():
    for name, content in make_demo().items():
        kept = (DEMO / name).read_bytes()
        if name.endswith(".toml"):
            assert content == kept
            continue
        # another machine's mathematics library may round the odd last figure differently
        new, old = content.decode().splitlines(), kept.decode().splitlines()
        assert new[0] == old[0]
        assert len(new) == len(old)
        pairs = [(a, b) for x, y in zip(new, old, strict=True)
                 for a, b in zip(x.split(","), y.split(","), strict=True)]  # fmt: skip
        assert sum(a != b for a, b in pairs) <= len(pairs) / 1000


def test_the_log_is_small_and_long_enough(log):
    assert (DEMO / "climb.csv").stat().st_size < 1_000_000
    assert 60.0 <= log["Time"][-1] <= 90.0
    assert 30 <= len(log) <= 40


def test_the_car_behaves_like_c_and_not_like_d(log):
    used = log["Spark used"]
    like_c = np.abs(used - replay("rev-c.toml", log)["delivered"])
    like_d = np.abs(used - replay("rev-d.toml", log)["delivered"])
    assert np.quantile(like_c, 0.9) < 0.6  # rounding, half a sample of delay, steep stretches
    top = (log["Time"] > 46.0) & (log["Time"] < 58.0)
    assert np.median(like_d[top]) > 1.5


def test_near_the_top_degrees_are_lost_and_at_idle_the_governor_works(log):
    gap = log["Spark used"] - log["Spark base"]
    top = (log["Time"] > 48.0) & (log["Time"] < 59.0) & (log["Throttle"] > 90.0)
    below = (log["Time"] > 12.0) & (log["Time"] < 38.0) & (log["Throttle"] > 15.0)
    assert np.mean(gap[top]) < -2.0
    assert abs(np.median(gap[below])) < 0.2
    governor = replay("rev-d.toml", log)["idle-governor"]
    idle = np.abs(governor) > 0.5
    assert np.median(np.abs(gap - governor)[idle]) < 0.3


def test_loading_d_would_bring_two_more_things_that_the_run_does_not_show(log):
    c, d = sheet("rev-c.toml")["spark"], sheet("rev-d.toml")["spark"]
    assert not np.any(log["Start line"])
    on = {r: {k["id"]: k["enabled"] for k in s["correction"]} for r, s in (("c", c), ("d", d))}
    assert on["d"]["launch"]
    assert not on["c"]["launch"]
    assert c["map"]["values"] != d["map"]["values"]
    scheduled = [replay(f, log)["scheduled"] for f in ("rev-c.toml", "rev-d.toml")]
    assert np.allclose(*scheduled)


@pytest.fixture(scope="module")
def big(tmp_path_factory: pytest.TempPathFactory) -> list[Path]:
    """A log and its sheets, which are costly to drive."""
    return write_big(tmp_path_factory.mktemp("big"), samples=2500, channels=60, sheets="CD")


def test_a_big_log_has_the_rows_and_channels_asked_for(big):
    log, _, file = big
    frame = pl.read_csv(log)
    assert frame.shape == (2500, 60)
    assert np.allclose(np.diff(frame[:, 0].to_numpy()), 0.02)
    units = {name.rpartition("(")[2].rstrip(")") for name in frame.columns}
    assert {"psi", "°F"} <= units
    calibration({k: v for k, v in tomllib.loads(file.read_text()).items() if k != "format"})
    assert conversion("kPa", "psi") is not None
    used, base = frame["Final ignition advance (deg)"], frame["Base map ignition advance (deg)"]
    assert float((used - base).abs().max()) > 2.0


def test_a_big_log_comes_with_the_sheets_asked_for_the_one_said_to_run_first(big):
    _, *files = big
    c, d = (tomllib.loads(file.read_text()) for file in files)
    assert (c["revision"], d["revision"]) == ("C", "D")
    assert c["spark"]["map"] == d["spark"]["map"]
    reasons = [[one["reason"] for one in sheet["spark"]["correction"]] for sheet in (c, d)]
    assert set(reasons[1]) - set(reasons[0]) == {"driver switch"}
