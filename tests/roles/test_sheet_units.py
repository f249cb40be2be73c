"""A sheet's own corrections tell in which unit a channel's numbers are, where label and look leave
it open."""

import numpy as np
import pytest

from tests.roles.dressing import make_log
from tests.roles.drives import Drive
from tests.roles.test_relations import CORE, a_drive, with_correction
from tuneledger.arrays import FloatArray
from tuneledger.calibrations.model import Calibration
from tuneledger.logs.model import Log
from tuneledger.roles import identify

INTAKE = "intake air temperature"
SEEDS = range(100, 104)


def mild_air(d: Drive) -> FloatArray:
    """14 to 37 °C, which in °F is what a hot intake has in °C."""
    air = d.of(INTAKE)
    return np.round(14.0 + 23.0 * (air - air.min()) / np.ptp(air), 1)


def warm_air_takes(d: Drive) -> Calibration:
    axis = {"signal": INTAKE, "unit": "degC", "at": (18.0, 26.0, 34.0)}
    return with_correction(
        d, id="warm-air", amount=None, axes=(axis,), values=(0.0, -2.0, -4.5), when=()
    )


def logged(d: Drive, taken: FloatArray, *, label: str) -> Log:
    columns = {q.title(): d.quantities[q] for q in CORE}
    scheduled = d.of("scheduled advance")
    return make_log(
        {
            **columns,
            "Spark Base": (scheduled, "deg"),
            "Spark Used": (np.round(scheduled + taken, 2), "deg"),
            "Intake Air Temperature": (np.round(mild_air(d) * 1.8 + 32.0, 1), label),
        },
        d.times,
    )


@pytest.mark.parametrize("label", ["degC", ""])
@pytest.mark.parametrize("seed", SEEDS)
def test_a_temperature_is_read_as_a_sheets_correction_shows_it_to_be(seed: int, label: str) -> None:
    d = a_drive(seed)
    taken = np.interp(mild_air(d), [18.0, 26.0, 34.0], [0.0, -2.0, -4.5])
    roles = identify(logged(d, taken, label=label), sheets=[warm_air_takes(d)])
    role = roles.by_signal[INTAKE]
    assert role.unit == "degF"
    assert (role.relabelled == "unit") == bool(label)


@pytest.mark.parametrize("seed", SEEDS)
def test_a_unit_in_which_the_correction_only_falls_silent_is_not_shown(seed: int) -> None:
    d = a_drive(seed)
    axis = {"signal": INTAKE, "unit": "degC", "at": (50.0, 70.0, 90.0)}
    hot = with_correction(d, id="hot", amount=None, axes=(axis,), values=(0.0, -2.0, -4.5), when=())
    roles = identify(logged(d, np.zeros(d.times.size), label="degC"), sheets=[hot])
    assert roles.by_signal[INTAKE].unit == "degC"


@pytest.mark.parametrize("seed", SEEDS)
@pytest.mark.parametrize("silent_share", [0.25, 0.4, 0.6])
def test_a_guard_that_was_switched_off_bends_no_label(seed: int, silent_share: float) -> None:
    """In inches of mercury the oil pressure would be low for moments only, and all would nearly
    come out: nothing appears there that fits, so that nothing speaks against the label."""
    d = a_drive(seed)
    oil = np.where(np.abs(d.times - 20.0) < 0.5, 30.0, d.of("oil pressure"))
    d.put("oil pressure", "kPa", oil)
    low = float(np.quantile(oil, silent_share))
    guard = with_correction(
        d, id="oil-guard", reason="sensor guard",
        when=({"signal": "oil pressure", "unit": "kPa", "below": low},),
    )  # fmt: skip
    columns = {q.title(): d.quantities[q] for q in (*CORE, "oil pressure")}
    scheduled = d.of("scheduled advance")
    log = make_log(
        columns | {"Spark Base": (scheduled, "deg"), "Spark Used": (scheduled, "deg")}, d.times
    )
    assert identify(log, sheets=[guard]).by_signal["oil pressure"].unit == "kPa"


@pytest.mark.parametrize("seed", SEEDS)
def test_a_guard_that_is_seen_at_work_in_another_unit_alone_shows_that_unit(seed: int) -> None:
    d = a_drive(seed)
    oil = d.of("oil pressure")
    low = float(np.quantile(oil, 0.3))
    guard = with_correction(
        d, id="oil-guard", reason="sensor guard",
        when=({"signal": "oil pressure", "unit": "kPa", "below": low},),
    )  # fmt: skip
    columns = {q.title(): d.quantities[q] for q in CORE}
    scheduled = d.of("scheduled advance")
    given = np.round(scheduled - 5.0 * (oil < low), 2)
    columns["Oil Pressure"] = (np.round(oil / 6.894757, 1), "kPa")
    log = make_log(
        columns | {"Spark Base": (scheduled, "deg"), "Spark Used": (given, "deg")}, d.times
    )
    assert identify(log, sheets=[guard]).by_signal["oil pressure"].unit == "psi"
