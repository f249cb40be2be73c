"""Whatever a sheet holds, it is audited: no check breaks, and the reach has no holes."""

import numpy as np
from hypothesis import given, settings

from tests.audit.sheetlike import audited
from tests.strategies import calibrations
from tuneledger.audit.json import as_json
from tuneledger.audit.text import as_text
from tuneledger.calibrations.model import Calibration
from tuneledger.pages.audit import audit_page


@settings(deadline=None, max_examples=60)
@given(calibrations())
def test_any_sheet_is_audited(calibration: Calibration) -> None:
    result = audited(calibration)
    assert [f.says for f in result.findings if "fault of its own" in f.says] == []
    reach = result.sheets[0].reach
    known = np.isfinite(reach.scheduled)
    assert np.isfinite(reach.lowest.degrees[known]).all()
    assert (reach.lowest.degrees[known] <= reach.highest.degrees[known]).all()
    as_json(result)
    as_text(result)
    audit_page(result)


@settings(deadline=None, max_examples=25)
@given(calibrations(), calibrations())
def test_any_two_sheets_are_compared(before: Calibration, after: Calibration) -> None:
    result = audited(before, after)
    assert [f.says for f in result.findings if "fault of its own" in f.says] == []
    as_text(result)
