"""A finished case, and the folder in which it is kept."""

import json
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from tuneledger.record import record


@record(eq=False)
class Case:
    """files: name → content, `log.csv`, the sheets, `truth.csv` and for a hidden rule `heldout.csv`
    with `heldout_truth.csv`; truth: what `truth.json` holds."""

    kind: str
    seed: int
    truth: dict[str, Any]
    files: Mapping[str, bytes]

    @property
    def log(self) -> bytes:
        return self.files["log.csv"]

    @property
    def sheets(self) -> list[tuple[str, str]]:
        """(file, text) in the order in which they are handed over; the first is said to run."""
        names: Sequence[str] = self.truth["calibrations"]
        return [(name, self.files[name].decode("utf-8")) for name in names]


def write_case(case: Case, folder: Path) -> Path:
    """Write the case into a folder of its own, which is made where it does not exist."""
    folder.mkdir(parents=True, exist_ok=True)
    for name, content in case.files.items():
        (folder / name).write_bytes(content)
    text = json.dumps(case.truth, ensure_ascii=False, indent=1)
    (folder / "truth.json").write_text(text + "\n", encoding="utf-8")
    return folder
