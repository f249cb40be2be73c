"""An episode is told by regime: what of it lies where, and what name the whole deserves."""

import numpy as np
import pytest

from tests.inputs import TableInputs
from tuneledger.arrays import FloatArray
from tuneledger.ledger.model import Part
from tuneledger.ledger.parts import Columns, parts
from tuneledger.ledger.regimes import REGIMES, Regimes, find_regimes

ROW_S = 0.05


def went_through(**seconds: float) -> Regimes:
    """An engine that went through regimes in this order, for so long each."""
    codes = [REGIMES.index(name) for name, s in seconds.items() for _ in range(round(s / ROW_S))]
    code = np.array(codes, dtype=np.int64)
    no = np.zeros(code.shape, dtype=np.bool_)
    return Regimes(code, void=no, load=no, load_told=no, closed=no, throttle_known=True)


def divided(regimes: Regimes, difference: FloatArray | float = -3.0) -> tuple[Part, ...]:
    rows = np.arange(regimes.code.size)
    gap = np.broadcast_to(np.asarray(difference, dtype=float), rows.shape)
    columns = Columns(np.full(rows.shape, 20.0), 20.0 + gap, gap, np.zeros(rows.shape))
    return parts(regimes, rows, columns, row_s=ROW_S, tolerance=0.3)


def wide_open(times: FloatArray, speed: FloatArray) -> TableInputs:
    open_ = np.full(times.shape, 100.0)
    return TableInputs(times, {"engine speed": ("rpm", speed), "throttle position": ("%", open_)})


def shares(found: tuple[Part, ...]) -> dict[str, float]:
    return {part.regime: round(part.share, 2) for part in found}


def test_a_long_episode_is_told_by_all_the_regimes_that_it_went_through() -> None:
    found = divided(went_through(load=6.0, shift=7.0, overrun=5.0))
    assert shares(found) == {"shift": 0.39, "load": 0.33, "overrun": 0.28}


def test_each_part_has_its_own_means() -> None:
    regimes = went_through(load=4.0, overrun=4.0)
    low, high = divided(regimes, np.where(regimes.code == REGIMES.index("load"), -5.0, -1.0))
    assert {low.regime: low.difference_deg, high.regime: high.difference_deg} == {
        "load": pytest.approx(-5.0),
        "overrun": pytest.approx(-1.0),
    }


def test_the_edges_of_an_episode_are_no_parts_of_it() -> None:
    assert shares(divided(went_through(cruise=0.1, launch=0.2))) == {"launch": 1.0}
    assert shares(divided(went_through(overrun=0.5, load=9.0))) == {"load": 1.0}


def test_advance_added_under_load_is_told_however_brief() -> None:
    regimes = went_through(overrun=9.0, load=0.1)
    assert shares(divided(regimes, 2.0)) == {"overrun": 0.99, "load": 0.01}
    assert shares(divided(regimes, -2.0)) == {"overrun": 1.0}


def test_the_shares_sum_to_one() -> None:
    found = divided(went_through(idle=0.1, load=3.0, shift=0.2, overrun=1.5, limiter=0.4))
    assert sum(part.share for part in found) == pytest.approx(1.0)


def test_gear_changes_name_a_stretch_only_where_they_fill_more_than_half_of_it() -> None:
    assert went_through(shift=7.0, load=6.0, overrun=5.0).most(slice(None)) == "load"
    assert went_through(shift=0.75, load=0.2).most(slice(None)) == "shift"
    assert went_through(shift=0.5).most(slice(None)) == "shift"


def test_an_engine_that_bounces_off_its_limiter_is_on_it_throughout() -> None:
    times = np.arange(0.0, 2.0, 0.01)
    speed = 7600.0 + 250.0 * np.sin(2 * np.pi * 5.0 * times)  # five times a second up to 7850
    inputs = wide_open(times, speed)
    found = np.array(find_regimes(inputs, redline_rpm=7800.0).names())
    reached = np.flatnonzero(speed >= 7800.0)
    assert set(found[reached[0] : reached[-1]]) == {"limiter"}


def test_two_pulls_up_to_the_redline_are_no_limiter_in_between() -> None:
    times = np.arange(0.0, 12.0, 0.01)
    speed = 4000.0 + 3900.0 * np.abs(np.sin(2 * np.pi * times / 12.0))
    inputs = wide_open(times, speed)
    found = find_regimes(inputs, redline_rpm=7800.0).names()
    assert found[600] == "load"
