"""The demo: Kestrel on the hill on a warm day.

    python -m tuneledger.car.demo demo/

Revision D eased the charge-air retard and is what the driver sent, yet the car still loses degrees
near the top: the ECU carries out revision C. The idle governor works as it should. Loading D would
also raise two cells that the run never reached and switch on a launch retard. The same files come
out every time.
"""

import argparse
from datetime import datetime
from pathlib import Path
from typing import Any

from tuneledger.car import distractors
from tuneledger.car.distractors import DISTRACTORS
from tuneledger.car.dress import LABELS, SPARK, Column, Dress, figures, finest, is_switch, own_unit
from tuneledger.car.drive import Plan, drive
from tuneledger.car.driver import Leg
from tuneledger.car.ecu import Ecu
from tuneledger.car.logger import write_log
from tuneledger.car.sheets import calibration, to_toml
from tuneledger.car.vehicle import KESTREL, Day
from tuneledger.car.vocabulary import LANGUAGES, words

SEED = 31
DRESS = Dress("plain", 50, units_in="(", lag=0.5, on_off=("on", "off"))
DAY = Day(
    air_c=29.0,
    baro_kpa=94.0,
    intake_c=32.0,
    soak_c=9.0,
    coolant_c=86.0,
    oil_c=90.0,
    fuel_c=31.0,
    ethanol=5.0,
    climb=0.085,
)

# the hill: a wait at the line, straights and bends on part throttle, the fast upper part, and a
# roll back to idle
HILL = (
    Leg("idle", 9.5),
    Leg("pedal", 4.4, 52),
    Leg("brake", 0.9, lateral=0.5),
    Leg("pedal", 1.9, 24, lateral=0.9),
    Leg("pedal", 4.2, 47),
    Leg("brake", 1.3, lateral=-0.4),
    Leg("pedal", 2.2, 20, lateral=-1.0),
    Leg("pedal", 3.6, 50),
    Leg("pedal", 1.6, 35, lateral=0.8),
    Leg("pedal", 4.0, 55),
    Leg("brake", 1.9, lateral=0.6),
    Leg("pedal", 2.3, 22, lateral=1.0),
    Leg("pedal", 5.2, 100),
    Leg("brake", 1.5, lateral=-0.5),
    Leg("pedal", 1.4, 60, lateral=-0.9),
    Leg("pedal", 5.4, 100),
    Leg("brake", 1.2, lateral=0.6),
    Leg("pedal", 1.3, 55, lateral=0.8),
    Leg("pedal", 5.0, 100),
    Leg("coast", 3.0),
    Leg("brake", 4.4),
    Leg("idle", 10.0),
)

SPEEDS = [700.0, 1300.0, 2000.0, 3000.0, 4000.0, 5000.0, 6000.0, 7400.0]
PRESSURES = [25.0, 50.0, 80.0, 110.0, 150.0, 200.0, 240.0]
CELLS = [
    [13.0, 18.0, 26.0, 31.0, 34.0, 35.5, 36.0, 36.0],
    [12.5, 17.0, 25.0, 30.0, 33.0, 34.5, 35.0, 35.0],
    [11.5, 15.0, 22.0, 27.0, 30.0, 31.0, 31.5, 32.0],
    [10.0, 12.5, 17.5, 22.5, 25.5, 27.0, 28.0, 28.5],
    [7.5, 9.5, 13.5, 18.5, 21.5, 23.0, 24.0, 25.0],
    [5.0, 6.5, 10.0, 14.5, 17.5, 19.0, 20.5, 21.5],
    [4.0, 5.0, 8.0, 12.0, 15.0, 16.5, 17.5, 18.5],
]
CHANNELS = (
    "engine speed", "scheduled advance", "delivered advance", "manifold absolute pressure",
    "throttle position", "accelerator position", "intake air temperature",
    "engine coolant temperature", "oil temperature", "oil pressure", "fuel pressure",
    "module voltage", "vehicle speed", "gear", "barometric pressure", "idle speed target",
    "commanded lambda", "measured lambda", "knock level", "ethanol content", "wet", "launch",
    "brake", "steer", "lateral", "acceleration", "altitude", "exhaust temperature", "wastegate",
    "turbo speed", "injector duty", "outside temp", "gearbox temp", "fan", "brake light", "frame",
)  # fmt: skip


def sheet(
    revision: str, saved: datetime, notes: str, air: list[float], **changes: Any
) -> dict[str, Any]:
    """One revision; what differs between them is in the arguments."""
    cells = [list(row) for row in CELLS]
    for (row, column), value in changes.get("cells", {}).items():
        cells[row][column] = value
    return {
        "title": KESTREL.name,
        "revision": revision,
        "saved": saved,
        "notes": notes,
        "engine": {"cylinders": 4, "fuel": "gasoline", "redline_rpm": KESTREL.redline},
        "spark": {
            "complete": True,
            "limits": {"lowest": -10.0, "highest": 40.0},
            "map": {
                "axes": [
                    {"signal": "manifold absolute pressure", "unit": "kPa", "at": PRESSURES},
                    {"signal": "engine speed", "unit": "rpm", "at": SPEEDS},
                ],
                "values": cells,
            },
            "correction": corrections(air, changes.get("launch", False)),
        },
    }


def corrections(air: list[float], launch: bool) -> list[dict[str, Any]]:
    """The corrections of one revision of Kestrel's sheet.

    air:    degrees of the hot charge-air table, negative takes advance
    launch: whether the launch retard is on
    """
    called = {key: names[0] for key, names in words().items()}
    throttle = {"signal": "throttle position", "unit": "%"}
    speed = {"signal": "engine speed", "unit": "rpm"}
    gap = {"signal": "idle speed target", "minus": "engine speed", "unit": "rpm"}
    return [
        {"id": "charge-air", "title": "Hot charge air", "reason": "air temperature",
         "enabled": True,
         "axes": [{"signal": "intake air temperature", "unit": "degC",
                   "at": [20.0, 44.0, 48.0, 52.0, 60.0]}],
         "values": air},
        {"id": "coolant", "title": "Hot coolant", "reason": "coolant temperature", "enabled": True,
         "axes": [{"signal": "engine coolant temperature", "unit": "degC",
                   "at": [100.0, 106.0, 114.0]}],
         "values": [0.0, -2.0, -6.0]},
        {"id": "oil-guard", "title": "Oil pressure guard", "reason": "sensor guard",
         "enabled": True, "amount": -8.0,
         "when": [{"signal": "oil pressure", "unit": "kPa", "below": 160.0, "held": 0.2},
                  speed | {"above": 3500.0}]},
        {"id": "rain", "title": "Rain switch", "reason": "driver switch", "enabled": True,
         "amount": -4.0, "expected": "only in rain",
         "when": [{"channel": called["wet"], "is": "on"},
                  throttle | {"above": 40.0, "release": 35.0}],
         "ramp": 40.0},
        {"id": "launch", "title": "Launch retard", "reason": "launch", "enabled": launch,
         "amount": -11.0, "when": [{"channel": called["launch"], "is": "on"}]},
        {"id": "idle-governor", "title": "Idle governor", "reason": "idle speed", "enabled": True,
         "axes": [gap | {"at": [-240.0, -120.0, 0.0, 120.0, 240.0]}],
         "values": [-7.0, -4.0, 0.0, 3.0, 5.0],
         "when": [throttle | {"below": 1.8}, speed | {"below": 1700.0}]},
        {"id": "top-speed", "title": "Hard rev limit", "reason": "rev limit", "enabled": True,
         "effect": "replace", "amount": -5.0, "when": [speed | {"above": 7650.0}]},
    ]  # fmt: skip


def sheets() -> dict[str, dict[str, Any]]:
    """File name → sheet, oldest first."""
    return {
        "rev-b.toml": sheet(
            "B", datetime(2026, 4, 11, 17, 5), "As built over the winter; cautious in the heat.",
            [0.0, -2.0, -4.5, -7.5, -11.0], cells={(5, 4): 16.0, (5, 5): 17.5}),
        "rev-c.toml": sheet(
            "C", datetime(2026, 4, 25, 19, 40), "After the test day: two cells at 200 kPa raised.",
            [0.0, 0.0, -2.5, -5.0, -8.0]),
        "rev-d.toml": sheet(
            "D", datetime(2026, 5, 3, 18, 20), "Charge-air retard eased. Launch retard on, and the "
            "top row raised, for the long straights.",
            [0.0, 0.0, 0.0, -1.0, -3.0], launch=True, cells={(6, 5): 18.5, (6, 6): 19.5}),
    }  # fmt: skip


def columns() -> list[Column]:
    """Time and the channels, in one logger's plain words, each in its finest step."""
    plain = LANGUAGES.index("plain")
    made = [Column("time", words()["time"][plain], "s", "s", 0.001, 3)]
    for key in CHANNELS:
        step = 0.1 if key in SPARK else finest(key)
        label = "" if is_switch(key) else LABELS.get(own_unit(key), (own_unit(key),))[0]
        name, unit = words()[key][plain], own_unit(key)
        made.append(Column(key, name, unit, label, step, figures(step), switch=is_switch(key)))
    return made


def make_demo() -> dict[str, bytes]:
    """File name → content."""
    all_columns = columns()
    sources = {c.name: (c.key, own_unit(c.key), c.unit) for c in all_columns}
    plan = Plan(KESTREL, DAY, HILL, seed=SEED, channels=sources, tick=2)
    run = drive(plan, Ecu(calibration(sheets()["rev-c.toml"]), fresh=True))
    distractors.add(run, [c.key for c in all_columns if c.key in DISTRACTORS], SEED)
    files = {"climb.csv": write_log(run, all_columns, DRESS, SEED).data}
    return files | {name: to_toml(content).encode() for name, content in sheets().items()}


def main() -> None:
    """Write the demo's files into a folder given on the command line."""
    parser = argparse.ArgumentParser(description="Write the demo's log and sheets.")
    parser.add_argument("folder", type=Path)
    folder = parser.parse_args().folder
    folder.mkdir(parents=True, exist_ok=True)
    for name, content in make_demo().items():
        (folder / name).write_bytes(content)
        print(f"{name}: {len(content)} bytes")


if __name__ == "__main__":
    main()
