"""Smoothing that scheduled alone does not show, since it acts on all that is asked for."""

from dataclasses import replace

import numpy as np
import pytest

from tests.explain.parts import LEVER, switched
from tests.explain.test_rate_limit import thinned
from tests.ledger.test_between import RATE_HZ, lively, note, told
from tests.runs import sheet
from tuneledger.ledger.smoothed import Smoothing


@pytest.mark.parametrize(("lasts_s", "every"), [(0.15, 8), (0.3, 20)])
def test_a_low_pass_is_seen_in_a_slow_log_by_what_the_sheet_asks_for(
    lasts_s: float, every: int
) -> None:
    """A lever that takes 5° every few seconds moves delivered more than the map does."""
    run = lively()
    run = replace(run, scheduled=np.minimum(run.scheduled, 37.5))  # within the sheet's limits
    on = (run.times % 3.3 < 1.6) & (run.times > 9.0)
    asked = run.scheduled + np.where(on, -5.0, 0.0)
    given = Smoothing(True, lasts_s).of(asked, 1.0 / RATE_HZ)
    log = thinned(run.carry(LEVER, on.astype(float)), every)
    sheets = (sheet("rev-d.toml", "D", [switched("wet", -5.0)]),)
    statement = told(log, np.round(log.scheduled, 1), np.round(given[::every], 1), *sheets)
    assert "a low pass of about" in note(statement, "logged smoothed")
    wet = next(cause for cause in statement.causes if cause.correction == "wet")
    assert (wet.kind, wet.certainty > 0.9) == ("correction", True)
    assert all(cause.kind in ("correction", "other map") for cause in statement.causes)
