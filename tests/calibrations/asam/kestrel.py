"""Kestrel's revision D as a description, an image and a mapping: the worked example of the docs.

    python -m tests.calibrations.asam.kestrel demo/described

The numbers are those of `demo/rev-d.toml`; how they lie in memory is made up here.
"""

import struct
import sys
from collections.abc import Iterable, Sequence
from pathlib import Path

from tests.calibrations.asam.making import Memory, intel

SPEEDS = [700, 1300, 2000, 3000, 4000, 5000, 6000, 7400]
PRESSURES = [25, 50, 80, 110, 150, 200, 240]  # kPa; stored in hPa
CELLS = [
    [13.0, 18.0, 26.0, 31.0, 34.0, 35.5, 36.0, 36.0],
    [12.5, 17.0, 25.0, 30.0, 33.0, 34.5, 35.0, 35.0],
    [11.5, 15.0, 22.0, 27.0, 30.0, 31.0, 31.5, 32.0],
    [10.0, 12.5, 17.5, 22.5, 25.5, 27.0, 28.0, 28.5],
    [7.5, 9.5, 13.5, 18.5, 21.5, 23.0, 24.0, 25.0],
    [5.0, 6.5, 10.0, 14.5, 17.5, 19.0, 20.5, 21.5],
    [4.0, 5.0, 8.0, 12.0, 15.0, 18.5, 19.5, 18.5],
]
MARK = "KESTREL-D-0503"

DESCRIPTION = """\
ASAP2_VERSION 1 71
/* Kestrel is a made-up hill-climb car; this description and its image are made by a script. */
/begin PROJECT Kestrel "Hill-climb car"
  /begin MODULE Ecu "Engine control"
    /include "bus.aml"   // how a tester reaches it: not needed for the numbers
    /begin MOD_PAR "" ADDR_EPK 0x80000 EPK "KESTREL-D-0503" /end MOD_PAR
    /begin MOD_COMMON "" BYTE_ORDER MSB_FIRST ALIGNMENT_WORD 2 /end MOD_COMMON
    /begin IF_DATA BUS /begin SOURCE "10 ms" 1 /end SOURCE /end IF_DATA

    /begin COMPU_METHOD ADVANCE "stored = 4 x (advance + 20)"
      RAT_FUNC "%5.2" "° BTDC" COEFFS 0 4 80 0 0 1 /end COMPU_METHOD
    /begin COMPU_METHOD RETARD "taken away, so counted positive"
      LINEAR "%5.2" "deg" COEFFS_LINEAR 0.25 0 /end COMPU_METHOD
    /begin COMPU_METHOD SPEED "" IDENTICAL "%5.0" "1/min" /end COMPU_METHOD
    /begin COMPU_METHOD PRESSURE "" RAT_FUNC "%6.1" "hPa" COEFFS 0 1 0 0 0 1 /end COMPU_METHOD
    /begin COMPU_METHOD OIL "" RAT_FUNC "%6.1" "kPa" COEFFS 0 10 0 0 0 1 /end COMPU_METHOD
    /begin COMPU_METHOD TEMPERATURE "" LINEAR "%5.1" "°C" COEFFS_LINEAR 1 -40 /end COMPU_METHOD
    /begin COMPU_METHOD SHARE "" RAT_FUNC "%5.1" "%" COEFFS 0 2.5 0 0 0 1 /end COMPU_METHOD
    /begin COMPU_METHOD TIME "" RAT_FUNC "%5.2" "ms" COEFFS 0 1 0 0 0 1 /end COMPU_METHOD
    /begin COMPU_METHOD SWITCH "" TAB_VERB "%1.0" "" COMPU_TAB_REF SWITCH /end COMPU_METHOD
    /begin COMPU_VTAB SWITCH "" TAB_VERB 2 0 "locked" 1 "released" /end COMPU_VTAB
    /begin COMPU_METHOD DEW "" FORM "%5.1" "°C" /begin FORMULA "X1^2" /end FORMULA
    /end COMPU_METHOD

    /begin RECORD_LAYOUT MAP_8 NO_AXIS_PTS_X 1 UBYTE NO_AXIS_PTS_Y 2 UBYTE
      AXIS_PTS_X 3 UWORD INDEX_INCR DIRECT AXIS_PTS_Y 4 UWORD INDEX_INCR DIRECT
      FNC_VALUES 5 UBYTE ROW_DIR DIRECT /end RECORD_LAYOUT
    /begin RECORD_LAYOUT AXIS_8 NO_AXIS_PTS_X 1 UBYTE AXIS_PTS_X 2 UBYTE INDEX_INCR DIRECT
    /end RECORD_LAYOUT
    /begin RECORD_LAYOUT VALUES_8 FNC_VALUES 1 UBYTE COLUMN_DIR DIRECT /end RECORD_LAYOUT
    /begin RECORD_LAYOUT VALUE_16 FNC_VALUES 1 UWORD COLUMN_DIR DIRECT /end RECORD_LAYOUT

    /begin CHARACTERISTIC CAL_MARK "Revision" ASCII 0x80010 VALUES_8 0 NO_COMPU_METHOD 0 255
      NUMBER 4 /end CHARACTERISTIC
    /begin CHARACTERISTIC ADV_BASE "Base spark advance" MAP 0x80020 MAP_8 0 ADVANCE -20 43.75
      /begin AXIS_DESCR STD_AXIS nEngine SPEED 12 0 16000 /end AXIS_DESCR
      /begin AXIS_DESCR STD_AXIS pManifold PRESSURE 10 0 4000 /end AXIS_DESCR
    /end CHARACTERISTIC
    /begin CHARACTERISTIC ADV_LOW "Lowest advance" VALUE 0x800A0 VALUES_8 0 ADVANCE -20 43.75
    /end CHARACTERISTIC
    /begin CHARACTERISTIC ADV_HIGH "Highest advance" VALUE 0x800A1 VALUES_8 0 ADVANCE -20 43.75
    /end CHARACTERISTIC
    /begin AXIS_PTS T_AIR "Charge air temperatures" 0x800B0 tAir AXIS_8 0 TEMPERATURE 8 -40 215
    /end AXIS_PTS
    /begin CHARACTERISTIC AIR_RETARD "Retard by charge air" CURVE 0x800C0 VALUES_8 0 RETARD 0 63.75
      /begin AXIS_DESCR COM_AXIS tAir TEMPERATURE 8 -40 215 AXIS_PTS_REF T_AIR /end AXIS_DESCR
    /end CHARACTERISTIC
    /begin CHARACTERISTIC WATER_RETARD "Retard by hot coolant" CURVE 0x800D0 VALUES_8 0 RETARD
      0 63.75
      /begin AXIS_DESCR FIX_AXIS tWater TEMPERATURE 3 -40 215
        /begin FIX_AXIS_PAR_LIST 140 146 154 /end FIX_AXIS_PAR_LIST /end AXIS_DESCR
    /end CHARACTERISTIC
    /begin CHARACTERISTIC P_OIL "Guard: oil pressure" VALUE 0x800E0 VALUE_16 0 OIL 0 6000
    /end CHARACTERISTIC
    /begin CHARACTERISTIC N_OIL "Guard: engine speed" VALUE 0x800E2 VALUE_16 0 SPEED 0 16000
    /end CHARACTERISTIC
    /begin CHARACTERISTIC T_OIL "Guard: time" VALUE 0x800E4 VALUE_16 0 TIME 0 10000
    /end CHARACTERISTIC
    /begin CHARACTERISTIC OIL_RETARD "Guard: retard" VALUE 0x800E6 VALUES_8 0 RETARD 0 63.75
    /end CHARACTERISTIC
    /begin CHARACTERISTIC RAIN_RETARD "Rain retard" VALUE 0x800E7 VALUES_8 0 RETARD 0 63.75
    /end CHARACTERISTIC
    /begin CHARACTERISTIC RAIN_THROTTLE "Rain: on above" VALUE 0x800E8 VALUES_8 0 SHARE 0 100
    /end CHARACTERISTIC
    /begin CHARACTERISTIC LAUNCH_SWITCH "Launch retard" VALUE 0x800EA VALUES_8 0 SWITCH 0 1
    /end CHARACTERISTIC
    /begin CHARACTERISTIC LAUNCH_RETARD "Launch retard" VALUE 0x800EB VALUES_8 0 RETARD 0 63.75
    /end CHARACTERISTIC
    /begin CHARACTERISTIC IDLE_ADV "Idle governor" CURVE 0x800F0 VALUES_8 0 ADVANCE -20 43.75
      /begin AXIS_DESCR FIX_AXIS nIdleError SPEED 5 -1000 1000 FIX_AXIS_PAR_DIST -240 120 5
      /end AXIS_DESCR
    /end CHARACTERISTIC
    /begin CHARACTERISTIC DEW_POINT "Dew point" VALUE 0x800F8 VALUES_8 0 DEW -40 100
    /end CHARACTERISTIC
  /end MODULE
/end PROJECT
"""

MAPPING = """\
# Which of Kestrel's parameters is what. The same mapping serves every revision of the car.
format = "tuneledger-calibration/1"
title = "Kestrel hill-climb car"
revision = { characteristic = "CAL_MARK" }
saved = 2026-05-03T18:20:00
notes = "Charge-air retard eased. Launch retard on, and the top row raised, for the long straights."

[engine]
cylinders = 4
fuel = "gasoline"
redline_rpm = 7400.0

[spark]
complete = true
limits = { lowest = { characteristic = "ADV_LOW" }, highest = { characteristic = "ADV_HIGH" } }

[spark.map]                                  # x of ADV_BASE reads nEngine, y reads pManifold
axes = [
  { signal = "manifold absolute pressure", unit = "kPa", axis = "y" },
  { signal = "engine speed", unit = "rpm", axis = "x" },
]
values = { characteristic = "ADV_BASE" }

[[spark.correction]]
id = "charge-air"
title = "Hot charge air"
reason = "air temperature"
axes = [{ signal = "intake air temperature" }]
values = { characteristic = "AIR_RETARD", times = -1 }      # stored as retard, counted positive

[[spark.correction]]
id = "coolant"
title = "Hot coolant"
reason = "coolant temperature"
axes = [{ signal = "engine coolant temperature" }]
values = { characteristic = "WATER_RETARD", times = -1 }

[[spark.correction]]
id = "oil-guard"
title = "Oil pressure guard"
reason = "sensor guard"
amount = { characteristic = "OIL_RETARD", times = -1 }
when = [
  { signal = "oil pressure", below = { characteristic = "P_OIL" }, held = { characteristic = "T_OIL" } },
  { signal = "engine speed", above = { characteristic = "N_OIL" } },
]

[[spark.correction]]
id = "rain"
title = "Rain switch"
reason = "driver switch"
amount = { characteristic = "RAIN_RETARD", times = -1 }
expected = "only in rain"
when = [
  { channel = "Rain switch", is = "on" },
  { signal = "throttle position", above = { characteristic = "RAIN_THROTTLE" }, release = 35.0 },
]
ramp = 40.0

[[spark.correction]]
id = "launch"
title = "Launch retard"
reason = "launch"
enabled = { characteristic = "LAUNCH_SWITCH", on = "released" }
amount = { characteristic = "LAUNCH_RETARD", times = -1 }
when = [{ channel = "Start line", is = "on" }]

[[spark.correction]]
id = "idle-governor"
title = "Idle governor"
reason = "idle speed"
axes = [{ signal = "idle speed target", minus = "engine speed" }]
values = { characteristic = "IDLE_ADV" }
when = [
  { signal = "throttle position", unit = "%", below = 1.8 },
  { signal = "engine speed", unit = "rpm", below = 1700.0 },
]

[[spark.correction]]                          # in the program, not among its parameters
id = "top-speed"
title = "Hard rev limit"
reason = "rev limit"
effect = "replace"
amount = -5.0
when = [{ signal = "engine speed", unit = "rpm", above = 7650.0 }]
"""


def memory(mark: str = MARK, air: Sequence[float] = (0.0, 0.0, 0.0, 1.0, 3.0)) -> Memory:
    """The image's bytes; `air` is the charge-air retard."""
    base = struct.pack(">BB8H7H", 8, 7, *SPEEDS, *(10 * p for p in PRESSURES))
    return {
        0x80000: mark.encode("ascii"),
        0x80010: b"D   ",
        0x80020: base + b"".join(map(_advance, CELLS)),
        0x800A0: _advance([-10.0, 40.0]),
        0x800B0: bytes([5, *(degrees + 40 for degrees in (20, 44, 48, 52, 60))]),
        0x800C0: _retard(air),
        0x800D0: _retard([0.0, 2.0, 6.0]),
        0x800E0: struct.pack(">HHH", 1600, 3500, 200),
        0x800E6: _retard([8.0, 4.0]) + bytes([100]),
        0x800EA: bytes([1]) + _retard([11.0]),
        0x800F0: _advance([-7.0, -4.0, 0.0, 3.0, 5.0]),
        0x800F8: bytes([7]),
    }


def _advance(degrees: Iterable[float]) -> bytes:
    return bytes(round(4 * (one + 20)) for one in degrees)


def _retard(degrees: Iterable[float]) -> bytes:
    return bytes(round(4 * one) for one in degrees)


FILES = {
    "kestrel.a2l": lambda: DESCRIPTION,
    "kestrel-d.hex": lambda: intel(memory()),
    "mapping.toml": lambda: MAPPING,
}


def write(folder: Path) -> None:
    """The files of the example, into a folder."""
    folder.mkdir(parents=True, exist_ok=True)
    for name, text in FILES.items():
        (folder / name).write_text(text(), encoding="utf-8")


if __name__ == "__main__":
    write(Path(sys.argv[1]))
