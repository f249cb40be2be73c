"""What an audit costs against start-up and reading of the same sheet, each in a fresh process.

    python -m benchmarks.audit_speed

The sheet has a map of 20 × 20 and 60 corrections of the usual kinds, which share throttle, speed,
pressure and temperatures the way real ones do. The audit is to take at most 1.5 times as long, by
the processor's time, on which other work on the machine has little say.
"""

import argparse
import compileall
import sys
import tempfile
from pathlib import Path
from typing import Any

from benchmarks.processes import compare
from benchmarks.tools import installed

THROTTLE = {"signal": "throttle position", "unit": "%"}
SPEED = {"signal": "engine speed", "unit": "rpm"}
PRESSURE = {"signal": "manifold absolute pressure", "unit": "kPa"}
COOLANT = {"signal": "engine coolant temperature", "unit": "degC"}
INTAKE = {"signal": "intake air temperature", "unit": "degC"}
AIMED = 1.5


def usual_sheet(corrections: int = 60, points: int = 20) -> dict[str, Any]:
    """The raw tree of the sheet."""
    speeds = [round(800 + 340.0 * i) for i in range(points)]
    pressures = [round(25 + 12.0 * i) for i in range(points)]
    cells = [[round(30 - p / 11 + s / 900, 1) for s in speeds] for p in pressures]
    axes = [PRESSURE | {"at": pressures}, SPEED | {"at": speeds}]
    made = [_usual(n) | {"id": f"c{n:02d}"} for n in range(corrections)]
    spark = {"limits": {"lowest": -10.0, "highest": 42.0}, "map": {"axes": axes, "values": cells}}
    head = {"format": "tuneledger-calibration/1", "revision": "D"}
    return head | {"engine": {"redline_rpm": 7200.0}, "spark": spark | {"correction": made}}


def _usual(n: int) -> dict[str, Any]:
    """Number n of the usual kinds, over and over, no two with the same thresholds."""
    turn, kind = divmod(n, len(KINDS))
    return KINDS[kind](turn)


def _air(i: int) -> dict[str, Any]:
    axis = INTAKE | {"at": [10 + i, 35 + i, 50 + i, 70 + i]}
    return {"reason": "air temperature", "axes": [axis], "values": [0.0, 0.0, -1.0, -2.0 - i / 4]}


def _air_by_load(i: int) -> dict[str, Any]:
    axes = [PRESSURE | {"at": [60, 120 + i, 200]}, INTAKE | {"at": [20, 45 + i, 80]}]
    rows = [[0.0, 0.0, 0.0], [0.0, -1.0, -2.0], [0.0, -1.5, -3.0]]
    return {"reason": "air temperature", "axes": axes, "values": rows}


def _cold(i: int) -> dict[str, Any]:
    axis = COOLANT | {"at": [0 + i, 40 + i, 70 + i]}
    when = [SPEED | {"below": 3000 + 100 * i}]
    return {
        "reason": "coolant temperature",
        "axes": [axis],
        "values": [2.0, 1.0, 0.0],
        "when": when,
    }


def _hot(i: int) -> dict[str, Any]:
    axis = COOLANT | {"at": [98 + i, 106 + i, 116 + i]}
    return {"reason": "coolant temperature", "axes": [axis], "values": [0.0, -1.0, -4.0]}


def _switch(i: int) -> dict[str, Any]:
    when = [
        {"channel": f"Switch {'abcdefgh'[i]}", "is": "on"},
        THROTTLE | {"above": 40 + i, "release": 35 + i},
    ]
    return {"reason": "driver switch", "amount": -3.0, "when": when, "ramp": 20.0}


def _guard(i: int) -> dict[str, Any]:
    oil = {"signal": "oil pressure", "unit": "kPa", "below": 120 + 5 * i, "held": 0.3}
    return {
        "reason": "sensor guard",
        "amount": -5.0,
        "when": [oil, SPEED | {"above": 3000 + 50 * i, "release": 2900}],
    }


def _idle(i: int) -> dict[str, Any]:
    axis = {
        "signal": "idle speed target",
        "minus": "engine speed",
        "unit": "rpm",
        "at": [-250 - i, 0, 250 + i],
    }
    when = [THROTTLE | {"below": 2 + i / 10, "release": 3 + i / 10}, SPEED | {"below": 1600 + i}]
    return {"reason": "idle speed", "axes": [axis], "values": [-5.0, 0.0, 4.0], "when": when}


def _tip_in(i: int) -> dict[str, Any]:
    when = [THROTTLE | {"rate": 0.1, "above": 100 + 10 * i, "linger": 0.3}]
    return {"reason": "other", "amount": -2.0, "when": when}


def _after_start(i: int) -> dict[str, Any]:
    axis = {"since": SPEED | {"above": 500 + i}, "at": [0.0, 3.0, 8.0]}
    return {"reason": "after start", "axes": [axis], "values": [-4.0, -2.0, 0.0]}


def _volts(i: int) -> dict[str, Any]:
    axis = {"signal": "module voltage", "unit": "V", "at": [9 + i / 10, 12 + i / 10]}
    return {"reason": "battery voltage", "axes": [axis], "values": [-3.0, 0.0]}


def _cap(i: int) -> dict[str, Any]:
    axis = PRESSURE | {"at": [150 + i, 250]}
    return {
        "reason": "boost",
        "effect": "at most",
        "axes": [axis],
        "values": [34.0, 26.0],
        "when": [COOLANT | {"above": 112 + i, "release": 108}],
    }


def _limiter(i: int) -> dict[str, Any]:
    return {
        "reason": "rev limit",
        "effect": "replace",
        "amount": -5.0 - i,
        "when": [SPEED | {"above": 7250 + 10 * i, "release": 7200}, THROTTLE | {"above": 20}],
    }


def _fuel_guard(i: int) -> dict[str, Any]:
    low = {
        "signal": "fuel pressure",
        "unit": "kPa",
        "below": 250 + 10 * i,
        "held": 0.2,
        "linger": 1.0,
    }
    return {"reason": "sensor guard", "amount": -6.0, "when": [low, PRESSURE | {"above": 110 + i}]}


def _lean_guard(i: int) -> dict[str, Any]:
    lean = {"signal": "measured lambda", "above": 0.95 + i / 50, "held": 0.2}
    return {
        "reason": "fuel",
        "amount": -4.0,
        "when": [lean, PRESSURE | {"above": 130 + i}],
        "until": "power off",
    }


def _oil_heat(i: int) -> dict[str, Any]:
    axis = {"signal": "oil temperature", "unit": "degC", "at": [115 + i, 130 + i, 140 + i]}
    return {"reason": "oil temperature", "axes": [axis], "values": [0.0, -1.0, -3.0]}


def _altitude(i: int) -> dict[str, Any]:
    axis = {"signal": "barometric pressure", "unit": "kPa", "at": [70 + i, 85 + i, 100]}
    return {"reason": "altitude", "axes": [axis], "values": [2.0, 1.0, 0.0]}


def _nitrous(i: int) -> dict[str, Any]:
    when = [
        {"channel": f"Nitrous stage {'abc'[i]}", "is": "on"},
        THROTTLE | {"above": 80, "release": 70},
    ]
    return {"reason": "nitrous", "amount": -4.0, "when": when, "ramp": {"down": 60.0, "up": 10.0}}


def _shift(i: int) -> dict[str, Any]:
    clutch = {"channel": "Clutch", "is": "on"}
    gear = {"signal": "gear", "between": [1 + i, 2 + i]}
    axis = {"since": clutch, "at": [0.0, 0.2 + i / 10, 0.6]}
    return {"reason": "gear shift", "axes": [axis], "values": [-8.0, -8.0, 0.0], "when": [gear]}


def _flex(i: int) -> dict[str, Any]:
    weight = {
        "axes": [{"signal": "ethanol content", "unit": "%", "at": [10 + i, 85]}],
        "values": [0.0, 0.3],
    }
    axes = [SPEED | {"at": [900, 7000]}]
    return {
        "reason": "fuel",
        "effect": "base" if i == 0 else "add",
        "axes": axes,
        **({"values": [18.0, 32.0], "weight": weight} if i == 0 else {"values": [0.0, -1.0]}),
    }


def _launch(i: int) -> dict[str, Any]:
    when = [
        {"channel": "Launch button", "is": "on"},
        {"signal": "vehicle speed", "unit": "km/h", "below": 8 + i},
    ]
    return {"reason": "launch", "amount": -6.0, "when": when}


KINDS = (
    *(_air, _air_by_load, _cold, _hot, _switch, _guard, _idle, _tip_in),
    *(_after_start, _volts, _cap, _limiter, _fuel_guard, _lean_guard, _oil_heat, _altitude),
    *(_nitrous, _shift, _flex, _launch),
)


def main() -> None:
    """Measure and print; the exit status is 1 where it takes too long."""
    parser = argparse.ArgumentParser(description="Time an audit.")
    parser.add_argument("--rounds", type=int, default=9)
    rounds = parser.parse_args().rounds
    import tuneledger as package
    from tuneledger.calibrations.check import check
    from tuneledger.calibrations.write import to_toml

    compileall.compile_dir(str(Path(str(package.__file__)).parent), quiet=1)
    with tempfile.TemporaryDirectory() as folder:
        sheet = Path(folder) / "usual.toml"
        sheet.write_text(to_toml(check(usual_sheet())), encoding="utf-8")
        own = installed("tuneledger")
        costs = compare(
            {"read": [own, "sheet", "check", str(sheet)], "audit": [own, "audit", str(sheet)]},
            rounds,
            (0, 1),
        )
    read, audit = costs["read"], costs["audit"]
    times = audit.cpu / read.cpu
    for name, cost in (("start-up and reading ", read), ("audit, 20 × 20 and 60", audit)):
        print(
            f"{name} {cost.cpu:.3f} s, {cost.seconds:.3f} s by the clock, {cost.megabytes:.0f} MB"
        )
    clock = audit.seconds / read.seconds
    print(f"{times:.2f} times as long, {clock:.2f} by the clock; at most {AIMED} are allowed")
    sys.exit(times > AIMED)


if __name__ == "__main__":
    main()
