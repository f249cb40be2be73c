"""A correction that reads the outside air, which nobody logged: one number all the drive."""

from typing import Any

import numpy as np
import pytest

from tests.explain.parts import switched, with_lever
from tests.explain.told import first, told
from tests.runs import charge_air, climb, sheet
from tuneledger.statement.model import Statement

RUN = with_lever(climb())
ALTITUDE: dict[str, Any] = {
    "id": "altitude",
    "reason": "altitude",
    "axes": [{"signal": "barometric pressure", "unit": "kPa", "at": (70.0, 100.0)}],
    "values": (5.0, 0.0),
}
LEVER = np.where(RUN.extra["Lever"] > 0.5, -3.0, 0.0)


def on_the_hill(degrees: float, *more: dict[str, Any]) -> Statement:
    run = RUN.post("altitude", np.full(RUN.times.shape, degrees)).post("lever", LEVER)
    return told(run, sheet("rev-d.toml", "D", [ALTITUDE, switched("lever", -3.0), *more]))


@pytest.mark.parametrize("degrees", [1.0, 2.5, 4.0])
def test_one_number_for_what_reads_the_outside_air_leaves_the_others_as_the_sheet_has_them(
    degrees: float,
) -> None:
    statement = on_the_hill(degrees)
    assert statement.verdict == "cannot tell"
    assert first(statement).correction == "altitude"
    assert first(statement).degrees == pytest.approx(degrees, abs=0.11)
    assert first(statement).certainty < 0.8
    assert [need.what for need in statement.needs] == ["barometric pressure"]
    assert all(cause.kind == "correction" for cause in statement.causes)
    assert "lever" in {c.correction for c in statement.causes if c.certainty >= 0.8}


def test_it_hides_no_correction_that_the_log_computes() -> None:
    """A smaller number without the charge-air correction would leave as little in a cool drive."""
    statement = on_the_hill(3.0, charge_air((-1.0, -1.5, -3.0, -6.0)))
    assert "altitude" in {cause.correction for cause in statement.causes}
    assert all(cause.kind == "correction" for cause in statement.causes)


def test_more_than_its_table_holds_is_not_laid_to_it() -> None:
    statement = on_the_hill(8.0)
    assert all(cause.correction != "altitude" for cause in statement.causes)


def test_it_is_not_asked_for_where_it_adds_nothing() -> None:
    statement = on_the_hill(0.0)
    assert statement.needs == ()
    assert statement.verdict == "explained"
