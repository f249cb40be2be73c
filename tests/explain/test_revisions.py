"""Several sheets: like which one the ECU behaves."""

import itertools

import numpy as np
import pytest

from tests.explain.told import first, kinds, told, told_of
from tests.runs import along, charge_air, climb, sheet

AIR = "intake air temperature"
AT = (20.0, 40.0, 60.0, 80.0)
EASED, STRICT, HARD = (0.0, 0.0, -2.0, -5.0), (0.0, -1.0, -4.0, -7.0), (0.0, -3.0, -6.0, -9.0)
D = sheet("rev-d.toml", "D", [charge_air(EASED)])
C = sheet("rev-c.toml", "C", [charge_air(STRICT)])
B = sheet("rev-b.toml", "B", [charge_air(HARD)])


@pytest.mark.parametrize("order", list(itertools.permutations([B, C, D])))
def test_the_running_revision_is_found_in_whatever_order_the_sheets_come(order: tuple) -> None:  # type: ignore[type-arg]
    statement = told(climb().post("x", along(climb(), AIR, AT, STRICT)), *order)
    assert statement.running is not None
    assert statement.running.best == "C"
    assert statement.running.supplied == order[0].calibration.revision
    assert statement.running.matches_supplied == (order[0] is C)
    assert statement.running.certainty >= 0.9
    assert kinds(statement) == ["correction" if order[0] is C else "other revision"]


def test_a_sheet_that_no_log_fits_is_not_the_running_one() -> None:
    run = climb()
    odd = np.where((run.times > 24) & (run.times < 36), -11.0, 0.0)
    statement = told(run.post("x", odd), D)
    assert statement.running is not None
    assert statement.running.best is None
    assert not statement.running.matches_supplied


def test_two_revisions_that_this_log_cannot_tell_apart_are_said_to_be_so() -> None:
    cold = climb(warmth=-40.0)
    statement = told(cold, D, C)
    assert statement.running is not None
    assert statement.running.best == "D"
    assert statement.running.certainty <= 0.6
    assert any("cannot tell it from" in note for note in statement.notes)


def test_another_map_posts_its_difference_where_scheduled_is_not_logged() -> None:
    values = np.array(D.calibration.spark.map.values) + np.array([[0], [0], [0], [-2], [-2]])
    other = type(D)(
        "rev-e.toml",
        D.calibration.model_copy(
            update={
                "revision": "E",
                "spark": D.calibration.spark.model_copy(
                    update={
                        "map": D.calibration.spark.map.model_copy(
                            update={"values": tuple(map(tuple, values.tolist()))}
                        ),
                        "correction": (),
                    }
                ),
            }
        ),
    )
    plain = sheet("rev-d.toml", "D")
    statement = told(climb(), other, plain, logged=False)
    assert statement.running is not None
    assert statement.running.best == "D"
    ledger = statement.logs[0].ledger
    assert ledger is not None
    assert [entry.correction for entry in ledger.entries if np.any(entry.values)] == ["other-map"]


def test_several_logs_of_one_car_are_explained_together() -> None:
    hot = climb().post("x", along(climb(), AIR, AT, STRICT))
    cold = climb(warmth=-40.0)
    statement = told_of([cold, hot], D, C)
    assert statement.running is not None
    assert statement.running.best == "C"
    assert {episode.log for episode in statement.episodes} == {1}
    assert first(statement).kind == "other revision"
