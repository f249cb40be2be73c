"""What comes through the diagnostic port, against SAE J1979 as an independent library reads it."""

import re

import numpy as np
import pytest

from tests.shared import SHARED, needs_data
from tuneledger.car.dress import Dress, column_for
from tuneledger.car.j1979 import J1979

CHECKED = {
    "ENGINE_LOAD": "engine load",
    "COOLANT_TEMP": "engine coolant temperature",
    "INTAKE_PRESSURE": "manifold absolute pressure",
    "RPM": "engine speed",
    "SPEED": "vehicle speed",
    "TIMING_ADVANCE": "delivered advance",
    "INTAKE_TEMP": "intake air temperature",
    "THROTTLE_POS": "throttle position",
    "BAROMETRIC_PRESSURE": "barometric pressure",
    "CONTROL_MODULE_VOLTAGE": "module voltage",
    "ETHANOL_PERCENT": "ethanol content",
    "OIL_TEMP": "oil temperature",
}


@needs_data
def test_scaling_agrees_with_the_check_table():
    # SAE J1979, values decoded by the library `obd` 0.7.3
    seen = 0
    for line in (SHARED / "data/ref/pid_check_values.txt").read_text().splitlines():
        found = re.match(r"(\w+)\s+01 (\w\w) ([\w ]+?)\s+-> (\S+)", line)
        if found and found[1] in CHECKED:
            scaling, raw = J1979[CHECKED[found[1]]], bytes.fromhex(found[3])
            assert scaling.pid == int(found[2], 16)
            assert scaling.size == len(raw)
            value = int.from_bytes(raw, "big") * scaling.scale + scaling.offset
            assert value == pytest.approx(float(found[4]))
            assert scaling.encode(float(found[4])) == raw
            seen += 1
    assert seen >= 20


@pytest.mark.parametrize(("command", "key"), CHECKED.items())
def test_scaling_agrees_with_an_independent_library_all_along_its_range(command, key):
    obd = pytest.importorskip("obd")
    message = pytest.importorskip("obd.protocols.protocol")
    scaling = J1979[key]
    decode = obd.commands[command].decode
    for value in np.linspace(scaling.lowest, scaling.highest, 23):
        sent = message.Message([])
        sent.data = bytes([0x41, scaling.pid]) + scaling.encode(value)
        said = float(decode([sent]).magnitude)
        assert said == pytest.approx(float(scaling.seen(np.asarray([value]))[0]), abs=1e-9)
        assert said == pytest.approx(value, abs=scaling.scale / 2 + 1e-9)


def test_timing_advance_runs_from_minus_64_in_half_degrees():
    timing = J1979["delivered advance"]
    assert (timing.lowest, timing.highest, timing.scale) == (-64.0, 63.5, 0.5)


def test_a_log_from_the_port_has_the_steps_of_the_standard():
    dress, rng = Dress("codes", 10, port=True), np.random.default_rng(0)
    steps = {key: column_for(key, "x", dress, rng, 0.5).step for key in J1979}
    assert steps["engine speed"] == 0.25
    assert steps["intake air temperature"] == 1.0
    assert steps["module voltage"] == 0.001
    assert steps["delivered advance"] == 0.5
