"""Whoever loads the supplied revision loads every other difference too: all of them are told."""

import numpy as np

from tests.explain.parts import AIR, AT, drive, switched, with_spark
from tests.explain.told import told, told_of
from tests.runs import along, charge_air, climb, sheet
from tuneledger.explain.loading import Loading
from tuneledger.statement.json import as_json
from tuneledger.statement.model import Statement, SuppliedSheet
from tuneledger.statement.text import as_text

EASED, STRICT = (0.0, 0.0, -2.0, -5.0), (0.0, -1.0, -4.0, -7.0)
RUN = climb()
LIKE_C = RUN.post("x", along(RUN, AIR, AT, STRICT))
LAUNCH = {"title": "Launch retard", "reason": "launch"}
C = sheet("rev-c.toml", "C", [charge_air(STRICT), switched("launch", -11.0, enabled=False)])


def moved(made: SuppliedSheet, *cells: tuple[int, int]) -> SuppliedSheet:
    grid = made.calibration.spark.map
    values = np.array(grid.values)
    for cell in cells:
        values[cell] += 2.0
    return with_spark(
        made, map=grid.model_copy(update={"values": tuple(map(tuple, values.tolist()))})
    )


D = sheet("rev-d.toml", "D", [charge_air(EASED), switched("launch", -11.0, **LAUNCH)])


def loading(statement: Statement) -> Loading:
    assert statement.loading is not None
    return statement.loading


def test_a_correction_that_would_come_on_is_told_although_it_never_acted() -> None:
    found = {d.what: d.seen for d in loading(told(LIKE_C, D, C)).differences}
    assert found == {
        "Hot charge air can move the advance by −5.0° to 0.0° instead of −7.0° to 0.0°: up to 2.0° "
        "more advance; it protects the engine (air temperature)": True,
        "Launch retard comes on (−11.0°)": False,
    }


def test_cells_of_the_map_that_the_run_never_reached_are_told_apart_from_those_it_did() -> None:
    gentle = drive(2500 + 400 * np.sin(RUN.times), 40 + 0 * RUN.times, 90 + 5 * np.cos(RUN.times))
    gentle = gentle.post("x", along(gentle, AIR, AT, STRICT))
    found = [
        d
        for d in loading(told(gentle, moved(D, (4, 4), (4, 3)), C)).differences
        if "main map" in d.what
    ]
    assert [(d.seen, "2 cells" in d.what) for d in found] == [(False, True)]
    assert "+2.0° at 200 kPa, 7000 rpm" in found[0].what
    # Scheduled is logged there, so that a map which differs where the run was would show.
    both = told(gentle, moved(D, (4, 4), (1, 1)), C)
    seen = {d.seen: d.what for d in loading(both).differences if "main map" in d.what}
    assert "200 kPa, 7000 rpm" in seen[False]
    assert "70 kPa, 2000 rpm" in seen[True]


def test_what_adds_most_is_told_first_and_an_open_number_before_all() -> None:
    """Four cells are told by their place; what only counts among the rest has to add less."""
    grid = np.array(D.calibration.spark.map.values, dtype=object)
    grid[4] += 2.5
    grid[3] -= 3.0
    grid[4, 3], grid[4, 4] = grid[4, 3] + 9.0, "?"
    values = tuple(map(tuple, grid.tolist()))
    worse = with_spark(D, map=D.calibration.spark.map.model_copy(update={"values": values}))
    (said,) = [d.what for d in loading(told(LIKE_C, worse, C)).differences if "main map" in d.what]
    assert said.startswith(
        "10 cells of the main map (nobody knows what at 200 kPa, 7000 rpm; "
        "+11.5° at 200 kPa, 5000 rpm; +2.5° at"
    )


def test_other_numbers_within_the_same_span_are_told_as_numbers() -> None:
    between = sheet("rev-d.toml", "D", [charge_air((0.0, -2.0, -4.0, -7.0))])
    assert [d.what for d in loading(told(LIKE_C, between, C)).differences] == [
        "Hot charge air has other numbers, again within −7.0° to 0.0°"
    ]


def test_limits_that_would_change_are_told() -> None:
    limits = D.calibration.spark.limits
    assert limits is not None
    wider = with_spark(D, limits=limits.model_copy(update={"highest": 44.0}))
    assert any("44.0°" in d.what for d in loading(told(LIKE_C, wider, C)).differences)


def test_terminal_and_json_tell_it_and_say_to_save_first() -> None:
    statement = told(LIKE_C, D, C)
    shown = " ".join(as_text(statement).split())
    assert "Launch retard comes on" in shown
    assert "save what is in the car before anything is loaded" in shown
    assert any("Launch retard comes on" in note for note in as_json(statement)["notes"])


def test_the_revision_of_the_last_stretch_is_what_is_in_the_car() -> None:
    like_d = RUN.post("x", along(RUN, AIR, AT, EASED))
    assert loading(told_of([like_d, LIKE_C], D, C)).in_car == "C"
    assert told_of([LIKE_C, like_d], D, C).loading is None


def test_where_the_supplied_revision_runs_there_is_nothing_to_load() -> None:
    assert told(LIKE_C, C, D).loading is None
    assert told(LIKE_C).loading is None
