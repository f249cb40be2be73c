"""What sheets are called where two of them bear one name."""

import os
from collections import Counter
from collections.abc import Sequence
from pathlib import Path

from tuneledger.calibrations.model import Calibration


def files_apart(paths: Sequence[Path]) -> list[str]:
    """The names of files; of those with one name, with as many folders as tell them apart."""
    shown = [1] * len(paths)
    parts = [Path(os.path.realpath(path)).parts for path in paths]
    while True:
        names = ["/".join(own[-n:]) for own, n in zip(parts, shown, strict=True)]
        often = Counter(names)
        alike = [i for i, name in enumerate(names) if often[name] > 1 and shown[i] < len(parts[i])]
        if not alike:
            return names
        for i in alike:
            shown[i] += 1


def revisions_apart(sheets: Sequence[tuple[str, Calibration]]) -> list[str]:
    """The revisions' names; of those with one name, each with its file."""
    often = Counter(calibration.revision for _, calibration in sheets)
    return [
        f"{calibration.revision} ({file})"
        if often[calibration.revision] > 1
        else calibration.revision
        for file, calibration in sheets
    ]
