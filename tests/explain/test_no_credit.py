"""What was not logged may have done much; that refutes nothing that the log shows at work."""

import numpy as np
import pytest

from tests.explain.parts import AIR, AT, DEG, during
from tests.explain.told import first, told
from tests.runs import Run, along, charge_air, climb, sheet
from tuneledger.arrays import FloatArray
from tuneledger.explain.model import SURE, Cause
from tuneledger.statement.model import Statement

RUN = climb()
KNOCK = {"id": "knock", "reason": "knock", "range": (-8.0, 0.0)}
HOT = along(RUN, AIR, AT, DEG)
COLD = charge_air((4.0, 3.0, 3.0, 3.0))


def bursts(run: Run, most: float, seed: int = 1) -> FloatArray:
    """Degrees that knock control takes under load: off at once, given back at 0.8 degrees/s."""
    rng = np.random.default_rng(seed)
    loaded = run.signals["manifold absolute pressure"] > 130.0
    taken, out = 0.0, np.zeros(run.times.size)
    for row, load in enumerate(loaded):
        struck = load and rng.random() < 0.02
        taken = min(most, taken + 2.0) if struck else max(0.0, taken - 0.04)
        out[row] = -np.floor(4.0 * taken) / 4.0
    return out


def by_name(statement: Statement) -> dict[str | None, Cause]:
    return {cause.correction: cause for cause in statement.causes}


@pytest.mark.parametrize(("most", "seed"), [(3.0, 1), (3.0, 3), (8.0, 1), (8.0, 2)])
def test_a_correction_that_acts_as_the_sheet_has_it_is_not_called_silent(
    most: float, seed: int
) -> None:
    run = RUN.post("charge-air", HOT).post("knock", bursts(RUN, most, seed))
    found = by_name(told(run, sheet("rev-d.toml", "D", [charge_air(DEG), KNOCK])))
    assert set(found) == {"charge-air", "knock"}
    assert "took" in found["charge-air"].says
    assert found["charge-air"].certainty >= SURE > found["knock"].certainty


def test_nor_by_a_revision_that_lacks_it() -> None:
    run = RUN.post("charge-air", HOT).post("knock", bursts(RUN, 6.0))
    bare = sheet("rev-e.toml", "E", [KNOCK])
    statement = told(run, sheet("rev-d.toml", "D", [charge_air(DEG), KNOCK]), bare)
    assert "the ECU did not" not in " ".join(cause.says for cause in statement.causes)
    assert statement.running is not None
    assert statement.running.best == "D"


def test_a_sheet_that_lacks_it_is_refuted_by_one_that_has_it() -> None:
    run = RUN.post("charge-air", HOT).post("knock", bursts(RUN, 6.0))
    full = sheet("rev-e.toml", "E", [charge_air(DEG), KNOCK])
    statement = told(run, sheet("rev-d.toml", "D", [KNOCK]), full)
    assert by_name(statement)["charge-air"].kind == "other revision"


def test_what_stayed_silent_is_not_put_down_to_what_was_not_logged() -> None:
    statement = told(RUN, sheet("rev-d.toml", "D", [COLD, KNOCK]))
    assert first(statement).correction == "charge-air"
    assert "the ECU did not" in first(statement).says


def test_what_goes_beyond_its_range_it_has_not_done() -> None:
    """Eight degrees are all that the sheet allows; twelve are missing for four seconds of ten."""
    taken = np.where(during(RUN, 24.0, 34.0), -6.0, 0.0)
    taken = np.where(during(RUN, 27.0, 31.0), -12.0, taken)
    statement = told(RUN.post("x", taken), sheet("rev-d.toml", "D", [KNOCK]))
    found = by_name(statement)
    assert "12" not in found["knock"].says if "knock" in found else True
    assert statement.verdict != "explained"
    assert any(c.correction != "knock" and c.degrees < -8.0 for c in statement.causes)
