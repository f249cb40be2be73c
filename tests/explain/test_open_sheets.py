"""A sheet that leaves numbers open ("?") wins nothing by being silent, and is not refuted by it."""

from collections.abc import Sequence
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.explain.parts import AIR, AT, pulling, with_lever, with_spark
from tests.explain.told import first, told
from tests.runs import MAP, along, charge_air, climb, sheet
from tuneledger.explain.model import SURE, Running
from tuneledger.explain.running import without_gaps
from tuneledger.statement import facts
from tuneledger.statement.model import Statement, SuppliedSheet

RUN = climb()
DEG = (0.0, 0.0, -3.0, -6.0)
HOT = RUN.post("charge-air", along(RUN, AIR, AT, DEG))


def boosted(made: SuppliedSheet, by: float | None) -> SuppliedSheet:
    """The sheet with its map moved at the highest two pressures, or open there where None."""
    rows: list[Sequence[Any]] = [*MAP[:3]]
    rows += [tuple("?" if by is None else x + by for x in row) for row in MAP[3:]]
    grid = made.calibration.spark.map.model_copy(update={"values": tuple(rows)})
    return with_spark(made, map=grid)


def running(statement: Statement) -> Running:
    assert statement.running is not None
    return statement.running


def misfits(statement: Statement) -> dict[str, float]:
    return {r.revision: r.misfit_deg or 0.0 for r in running(statement).ranking}


def test_an_open_map_fits_no_better_than_the_one_that_says_something() -> None:
    """In the pull something acts that no sheet has; Q says nothing there."""
    run = with_lever(RUN).post("x", pulling(RUN, -4.0))
    d, q = sheet("rev-d.toml", "D"), boosted(sheet("rev-q.toml", "Q"), None)
    found = misfits(told(run, d, q, logged=False))
    assert found["Q"] == pytest.approx(found["D"])


def test_what_an_open_sheet_does_not_say_leaves_the_rule_that_is_there() -> None:
    run = with_lever(RUN).post("x", pulling(RUN, -4.0))
    wrong = boosted(sheet("rev-c.toml", "C"), -3.0)
    q = boosted(sheet("rev-q.toml", "Q"), None)
    statement = told(run, wrong, sheet("rev-d.toml", "D"), q, logged=False)
    rules = [cause for cause in statement.causes if cause.kind == "hidden rule"]
    assert [round(cause.degrees, 1) for cause in rules] == [-4.0]


def test_a_revision_that_knows_the_number_does_not_refute_one_that_leaves_it_open() -> None:
    left_open = sheet("rev-d.toml", "D", [charge_air((0.0, 0.0, "?", -6.0))])  # type: ignore[arg-type]
    statement = told(HOT, left_open, sheet("rev-c.toml", "C", [charge_air(DEG)]))
    assert running(statement).best == "C"
    assert running(statement).twins == ("rev-d.toml",)
    assert running(statement).certainty <= 0.5
    assert "not D" not in statement.headline
    assert "leaves it open" in first(statement).says


def test_a_revision_that_is_contradicted_where_it_speaks_is_refuted_by_it() -> None:
    left_open = sheet("rev-d.toml", "D", [charge_air((0.0, -5.0, "?", -6.0))])  # type: ignore[arg-type]
    statement = told(HOT, left_open, sheet("rev-c.toml", "C", [charge_air(DEG)]))
    assert running(statement).twins == ()
    assert "not D" in statement.headline


def test_nobody_is_surer_of_the_revision_than_of_what_it_may_have_done() -> None:
    left_open = sheet("rev-d.toml", "D", [charge_air((0.0, 0.0, "?", -6.0))])  # type: ignore[arg-type]
    statement = told(HOT, left_open)
    assert running(statement).best == "D"
    assert running(statement).certainty < SURE


def test_agreement_is_claimed_for_no_longer_than_the_map_is_known() -> None:
    statement = told(RUN, boosted(sheet("rev-q.toml", "Q"), None), logged=False)
    assert statement.verdict == "agrees"
    assert "for 37 s it is not" in statement.headline


OFF = st.lists(st.lists(st.floats(0.0, 9.0), min_size=6, max_size=6), min_size=2, max_size=4).map(
    np.array
)


@given(off=OFF, gaps=st.lists(st.booleans(), min_size=6, max_size=6))
def test_a_gap_is_filled_so_that_silence_never_beats_the_one_who_speaks_best(
    off: np.ndarray[Any, Any], gaps: list[bool]
) -> None:
    silent = off.copy()
    silent[0, gaps] = np.nan
    filled = without_gaps(silent)
    there = np.array(gaps)
    assert np.array_equal(filled[:, ~there], off[:, ~there])
    best = min((row[there] ** 2).sum() for row in off[1:])
    assert (filled[0, there] ** 2).sum() == pytest.approx(best)


def all_open(file: str, *, complete: bool = False) -> SuppliedSheet:
    """A sheet to start from: every cell of its map is open, and it has no correction."""
    made = sheet(file, "A")
    values = tuple(("?",) * len(row) for row in MAP)
    grid = made.calibration.spark.map.model_copy(update={"values": values})
    return with_spark(made, map=grid, complete=complete)


def test_a_sheet_that_says_nothing_is_not_the_running_one() -> None:
    statement = told(HOT, all_open("new.toml"))
    assert running(statement).best is None
    assert not running(statement).matches_supplied
    assert facts.running(statement) == ("cannot be judged: revision A says nothing of these logs")


def test_a_sheet_that_says_nothing_is_no_twin_of_the_one_that_runs_nor_refuted_by_it() -> None:
    statement = told(HOT, all_open("new.toml"), sheet("rev-c.toml", "C", [charge_air(DEG)]))
    assert running(statement).best == "C"
    assert running(statement).twins == ()
    assert "not A" not in statement.headline
    assert "revision A says nothing" in facts.running(statement)


def test_to_claim_that_there_are_no_corrections_is_to_say_something() -> None:
    """Delivered follows scheduled, as a sheet without corrections would have it."""
    statement = told(RUN, all_open("new.toml", complete=True))
    assert running(statement).unjudged == ()
    assert running(statement).best == "A"
