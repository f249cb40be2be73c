"""A correction of the sheet that acts with other numbers than the sheet's is one cause, not two."""

import numpy as np
import pytest

from tests.explain.parts import AIR, AT
from tests.explain.told import told
from tests.runs import along, charge_air, climb, sheet

RUN = climb()
WRITTEN = (0.0, 0.0, -1.0, -2.0)


@pytest.mark.parametrize("times", [2.0, 2.5, 4.0])
def test_a_table_with_larger_numbers_is_that_correction_and_no_rule_beside_it(times: float) -> None:
    posted = along(RUN, AIR, AT, [times * deg for deg in WRITTEN])
    statement = told(RUN.post("x", posted), sheet("rev-d.toml", "D", [charge_air(WRITTEN)]))
    (cause,) = statement.causes
    assert cause.correction == "charge-air"
    assert "not with the numbers that revision D has" in cause.says


def test_it_is_so_too_where_another_channel_would_say_it_with_fewer_points() -> None:
    posted = along(RUN, AIR, AT, [3.0 * deg for deg in WRITTEN])
    run = RUN.carry("Mixture aim", np.round(1.0 + posted / 60.0, 3)).post("x", posted)
    statement = told(run, sheet("rev-d.toml", "D", [charge_air(WRITTEN)]))
    (cause,) = statement.causes
    assert cause.correction == "charge-air"
    assert cause.rule is not None
    assert cause.rule.along is not None
    assert cause.rule.along.channel == "Air in"
