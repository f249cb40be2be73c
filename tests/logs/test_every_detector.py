"""Every detector of the program against whole samples of every format: one claims each, or none.

Logs, what packs them, sheets, and the calibrations of the open standards have detectors of their
own, in rooms that do not know each other; a file that two of them claimed would be read by chance.
"""

from pathlib import Path

import pytest

from tests.fuzz.samples import SAMPLES
from tuneledger.calibrations import looks_like_sheet
from tuneledger.calibrations.asam.tell import told
from tuneledger.calibrations.block.workbook import is_workbook
from tuneledger.logs import FORMATS
from tuneledger.logs.packed import is_packed
from tuneledger.logs.source import Source, open_source

CLAIMED = {
    "delimited text": "delimited text",
    "Parquet": "Parquet",
    "Arrow IPC": "Arrow IPC",
    "workbook": "workbook",
    "gzip and zip": "packed",
    **dict.fromkeys(("MDF 4", "MDF 3", "MDF unfinished", "MDF of frames"), "ASAM MDF"),
    "sheet": "sheet",
    "mapping": "sheet",
    "description": "description",
    "Intel HEX": "image",
    "S-record": "image",
    "calibration data": "instances",
    "light readings": "delimited text",
    # told apart by the option with which they are handed over, never by what is in them
    "roles": None,
    "changes": None,
}


def claims(source: Source) -> list[str]:
    """Whoever takes the file for its own."""
    found = [form.name for form in FORMATS if form.detect(source)]
    found += ["packed"] if is_packed(source) else []
    found += ["sheet"] if looks_like_sheet(source.head) else []
    kind = told(source.head)
    return [*found, kind] if kind else found


@pytest.mark.parametrize("form", [form for form in SAMPLES if form in CLAIMED])
def test_one_detector_claims_a_file_and_no_other_does(form: str, tmp_path: Path) -> None:
    for sample in SAMPLES[form](tmp_path):
        (tmp_path / "unnamed").write_bytes(sample)
        source, claimed = open_source(tmp_path / "unnamed"), CLAIMED[form]
        assert claims(source) == ([claimed] if claimed else [])
        assert is_workbook(sample) == (claimed == "workbook")


def test_no_format_is_forgotten() -> None:
    elsewhere = {"pasted block", "desk request"}  # text or a workbook; no file at all
    assert {*SAMPLES} - elsewhere <= {*CLAIMED}
    assert {form.name for form in FORMATS} <= {*CLAIMED.values()}
