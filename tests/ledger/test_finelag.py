"""One of the two has few samples and the other many: their lag is found to a row all the same."""

import numpy as np
import pytest

from tests.ledger.test_between import RATE_HZ, late, lively, logged
from tuneledger.arrays import FloatArray
from tuneledger.ledger.between import lag_between, logged_curve

RUN = lively()
ROW_S = 1.0 / RATE_HZ
LATE_ROWS = 7  # 35 ms


def lag_of(start: FloatArray, delivered: FloatArray) -> tuple[float, bool]:
    lag = lag_between(logged_curve(start), logged_curve(delivered), ROW_S)
    return lag.rows, lag.sure


@pytest.mark.parametrize("way", ["held", "empty"])
@pytest.mark.parametrize("every", [10, 20])
@pytest.mark.parametrize("retard", [0.0, 4.0])
def test_a_slow_scheduled_tells_the_lag_of_a_fast_delivered(
    way: str, every: int, retard: float
) -> None:
    switched = np.where(np.sin(0.7 * RUN.times) > 0.3, -retard, 0.0)
    asked = logged(RUN.scheduled, every=every, step=0.1, way=way)
    given = np.round(late(RUN.scheduled + switched, LATE_ROWS * ROW_S) / 0.1) * 0.1
    rows, sure = lag_of(asked, given)
    assert sure
    assert rows == pytest.approx(LATE_ROWS, abs=1.0)


@pytest.mark.parametrize("way", ["held", "empty"])
def test_a_slow_delivered_tells_by_how_much_it_is_late(way: str) -> None:
    asked = np.round(RUN.scheduled / 0.1) * 0.1
    moved = late(RUN.scheduled, LATE_ROWS * ROW_S)
    rows, sure = lag_of(asked, logged(moved, every=10, step=0.1, way=way))
    assert sure
    assert rows == pytest.approx(LATE_ROWS, abs=1.0)


def test_two_that_stand_still_tell_no_lag() -> None:
    still = np.full(RUN.times.shape, 12.0)
    assert lag_of(logged(still, every=10, step=0.1, way="empty"), still)[0] == 0.0
