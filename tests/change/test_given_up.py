"""About how much torque an edit gives up: only where it takes advance, and as a range."""

import json
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.change.rehearsals import edited, hot_statement, notes_of
from tests.explain.parts import pulling, switched, with_lever
from tests.explain.told import told
from tests.runs import climb, sheet
from tests.shared import SHARED, needs_data
from tuneledger.change.given_up import _loss, given_up
from tuneledger.change.rehearsal import Rehearsal


class Turning:
    """Inputs of a log in which only engine speed is known, or nothing."""

    def __init__(self, rpm: float | None, rows: int = 4) -> None:
        self.times = np.arange(float(rows))
        self._rpm = None if rpm is None else np.full(rows, rpm)

    def signal(self, name: str, unit: str | None) -> Any:
        return self._rpm if name == "engine speed" else None

    def channel(self, name: str, unit: str | None) -> Any:
        return None


ALL = np.ones(4, dtype=bool)


def share(less: float, rpm: float | None = 2000.0) -> tuple[float, float]:
    found = given_up(np.full(4, -less), ALL, Turning(rpm), 4.0)
    assert found is not None
    return found.least, found.most


@needs_data
@pytest.mark.parametrize("less", ["5", "10", "20"])
def test_from_its_best_timing_an_engine_loses_what_the_published_model_says(less: str) -> None:
    """Crossley and Cook 1991, as the Modelica Standard Library prints it."""
    text = SHARED.joinpath("data/ref/torque_spark_crossley_cook.json").read_text()
    for row in json.loads(text)["values"]:
        rad_s = np.array([float(row["N_rad_s"])])
        lost = _loss(row["ma_g"], rad_s, np.array([float(less)]), 0.0)
        assert 1.0 - lost[0] == pytest.approx(row["ratio_at_retard"][less], abs=1e-9)


@given(st.floats(0.3, 15.0), st.one_of(st.none(), st.floats(1000.0, 2800.0)))
def test_the_range_has_two_ends_and_more_retard_gives_up_more(
    less: float, rpm: float | None
) -> None:
    least, most = share(less, rpm)
    assert 0.0 <= least < most < 1.0
    further = share(less + 1.0, rpm)
    assert further[0] > least
    assert further[1] > most


def test_an_edit_that_adds_anywhere_has_no_estimate() -> None:
    moves = np.array([-4.0, -4.0, -4.0, 1.0])
    assert given_up(moves, ALL, Turning(2000.0), 4.0) is None


@pytest.mark.parametrize(("less", "lasts"), [(0.1, 4.0), (4.0, 0.2)])
def test_what_is_hardly_there_has_no_estimate(less: float, lasts: float) -> None:
    assert given_up(np.full(4, -less), ALL, Turning(2000.0), lasts) is None


def rehearsed(to: float) -> Rehearsal:
    run = with_lever(climb())
    statement = told(
        run.post("lever", pulling(run, -4.0)), sheet("d.toml", "D", [switched("lever", -4.0)])
    )
    return edited(statement, ("spark.correction.lever.amount", to))


def test_a_rehearsal_that_takes_advance_tells_it_with_its_source() -> None:
    notes = notes_of(rehearsed(-8.0))
    assert "estimate: for 10 s under load" in notes
    assert "Crossley and Cook, 1991" in notes
    assert "another one may lie outside" in notes


def test_a_rehearsal_that_gives_advance_back_tells_nothing_of_torque() -> None:
    assert rehearsed(-1.0).given_up is None
    eased = edited(hot_statement(), ("spark.correction.charge-air.enabled", False))
    assert "torque" not in notes_of(eased)
