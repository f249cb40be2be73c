"""Load where the throttle is all that tells it: a slow engine is full at a small opening."""

from dataclasses import replace

import numpy as np
import pytest

from tests.explain.parts import only
from tests.runs import Run, account, climb
from tuneledger.ledger.regimes import Regimes, find_regimes
from tuneledger.roles.inputs import LogInputs


def held(rpm: float, opening: float, pressure_kpa: float | None = None) -> Run:
    """A run at one speed and one opening, after ten seconds at a closed throttle."""
    run = climb()
    steady = run.times > 10.0
    signals = {
        "engine speed": np.where(steady, rpm, 950.0),
        "throttle position": np.where(steady, opening, 0.0),
        "manifold absolute pressure": np.where(steady, pressure_kpa or 0.0, 38.0),
    }
    told = replace(run, signals=signals)
    known = ("engine speed", "throttle position")
    return told if pressure_kpa is not None else only(told, *known)


def regimes(run: Run) -> Regimes:
    books = account(run, "run.csv")
    return find_regimes(LogInputs(books.log, books.roles, run.times))


@pytest.mark.parametrize(
    ("rpm", "opening", "loaded"),
    [
        (6000.0, 55.0, True),
        (6000.0, 45.0, False),
        (2000.0, 35.0, True),
        (2000.0, 20.0, False),
        (1200.0, 30.0, True),
        (1200.0, 12.0, False),
    ],
)
def test_the_slower_the_engine_the_smaller_the_opening_under_load(
    rpm: float, opening: float, loaded: bool
) -> None:
    found = regimes(held(rpm, opening))
    assert bool(found.load[-1]) is loaded
    assert found.load_told.all()


def test_a_closed_throttle_is_never_load() -> None:
    assert not regimes(held(1200.0, 0.0)).load.any()


def test_where_pressure_is_logged_it_decides() -> None:
    assert not regimes(held(1200.0, 30.0, pressure_kpa=60.0)).load.any()
    assert regimes(held(1200.0, 30.0, pressure_kpa=98.0)).load[-1]
