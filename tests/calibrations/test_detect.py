"""A sheet is told from everything else by what its text says; a broken one is still a sheet."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tuneledger.calibrations import looks_like_sheet


@pytest.mark.parametrize(
    "text",
    [
        'format = "tuneledger-calibration/1"\n',
        "format   = 'tuneledger-calibration/1'",
        '# Kestrel, revision D\n\n  format="tuneledger-calibration/1" # the first\n',
        'title = "x"\nformat = "tuneledger-calibration/1"',
        '"format" = "tuneledger-calibration/1"',
        'format = "tuneledger-calibration/2"',
        'format = "tuneledger-calibration/1',
        "format = tuneledger-calibration/1",
        "format = “tuneledger-calibration/1”",
        'format: "tuneledger-calibration/1"',
        'revision = "D"\n[spark.map]\nvalues = [',
        'revision = "D"\n[[spark.correction]]\n',
    ],
)
@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16"])
def test_a_sheet_however_broken(text: str, end: str, encoding: str) -> None:
    assert looks_like_sheet(text.replace("\n", end).encode(encoding))


@pytest.mark.parametrize(
    "text",
    [
        "",
        "Time (s),Rev,Adv given\n0.00,900,14.5\n0.01,910,14.5\n",
        "# made from format = tuneledger-calibration/1\nTime;Rev\ns;1/min\n0,0;900\n",
        "Format: 2\nCar: Kestrel\nTime\tRev\n0\t900\n",
        'Note,format = "tuneledger-calibration/1"\nTime,Rev\n0,900\n',
        'format = "tuneledger-roles/1"\n[roles]\n"engine speed" = "format"\n',
        'format = "tuneledger-roles/1"\n[roles]\nformat = "tuneledger-calibration/1"\n',
        'format = "tuneledger-changes/1"\n[[change]]\nplace = "spark.map.values[0][1]"\nto = 12\n',
        '{"format": "tuneledger-statement/1"}',
        "[spark]\nmapping = 1",
        "formatted = 'tuneledger-calibration/1'",
    ],
)
def test_what_is_not_a_sheet(text: str) -> None:
    assert not looks_like_sheet(text.encode())


@given(st.binary(max_size=400))
def test_no_bytes_make_it_raise(head: bytes) -> None:
    assert looks_like_sheet(head) in (True, False)
    assert looks_like_sheet(b"\xff\xfe" + head) in (True, False)
