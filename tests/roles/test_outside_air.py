"""A pressure above the outside air, where the log does not carry the outside air.

Pressures at height are those of the ISO 2533 standard atmosphere (from memory): 101.3 kPa at the
sea, 89.9 at 1000 m, 84.6 at 1500 m, 70.1 at 3000 m.
"""

from dataclasses import replace

import numpy as np
import pytest

from tests.runs import Cells, account, climb, sheet
from tuneledger.accounting import reconcile
from tuneledger.roles import identify
from tuneledger.statement.model import Statement, SuppliedSheet
from tuneledger.supplied import Supplied

PRESSURE = "manifold absolute pressure"


def counted_from(
    air_kpa: float, *sheets: SuppliedSheet, logged: bool, raised: float = 0.0
) -> Statement:
    """Kestrel's climb with its pressure above that outside air; `raised`: degrees above 100 kPa."""
    run = climb()
    by = np.where(run.signals[PRESSURE] > 100.0, raised, 0.0)
    run = replace(run, scheduled=run.scheduled + by)
    log = account(run, "run.csv", logged=logged).log
    values = [log.values(c) - (air_kpa if c.name == "Boost abs" else 0.0) for c in log.channels]
    channels = tuple(
        replace(c, name={"Boost abs": "MAP", "Air in": "Inlet temp"}.get(c.name, c.name))
        for c in log.channels
    )
    log = replace(log, channels=channels, time=channels[0], columns=Cells(values), _numbers={})
    roles = identify(log, sheets=[one.calibration for one in sheets])
    return reconcile(Supplied(((log, roles),), tuple(sheets)))


@pytest.mark.parametrize("logged", [True, False])
@pytest.mark.parametrize("air_kpa", [70.1, 84.6, 89.9, 98.0])
def test_another_outside_air_is_told_in_place_of_another_map(air_kpa: float, logged: bool) -> None:
    statement = counted_from(air_kpa, sheet("d.toml", "D"), logged=logged)
    assert statement.verdict in ("agrees", "expected")
    assert statement.causes == ()
    (note,) = [note for note in statement.notes if "outside air" in note]
    assert "101.3 kPa of the standard atmosphere" in note
    role = statement.logs[0].roles.by_signal[PRESSURE]
    assert role.offset == pytest.approx(air_kpa, abs=0.6)
    assert "barometric pressure" in [need.what for need in statement.needs]
    assert statement.running is not None
    assert statement.running.certainty <= 0.9


@pytest.mark.parametrize("logged", [True, False])
def test_at_the_sea_the_assumed_outside_air_is_named(logged: bool) -> None:
    statement = counted_from(101.325, sheet("d.toml", "D"), logged=logged)
    assert statement.causes == ()
    assert any("assumed to be 101.3 kPa" in note for note in statement.notes)


@pytest.mark.parametrize("raised", [2.0, 4.0, -3.0])
def test_a_map_that_is_raised_under_boost_is_no_outside_air(raised: float) -> None:
    statement = counted_from(101.325, sheet("d.toml", "D"), logged=True, raised=raised)
    (cause,) = statement.causes
    assert cause.kind == "other map"
    (note,) = [note for note in statement.notes if "outside air" in note]
    assert "assumed to be 101.3 kPa" in note
    assert cause.certainty < 0.8 or "would come out better" not in note


def test_without_a_sheet_the_assumed_outside_air_is_named() -> None:
    statement = counted_from(84.6, logged=True)
    assert any("assumed to be 101.3 kPa" in note for note in statement.notes)
    assert statement.needs == ()
