"""Findings that the owner accepts, as long as what they are about stays as it is."""

import hashlib
from collections.abc import Iterable, Sequence
from dataclasses import replace

from tuneledger.audit.model import Finding, Said
from tuneledger.calibrations.model import Accepted, Calibration
from tuneledger.calibrations.paths import as_raw, get, normal
from tuneledger.errors import SheetError

_SHOWN = 12  # hexadecimal digits of a mark: enough that no edit meets the old one by chance


def mark(calibration: Calibration, paths: Sequence[str]) -> str:
    """A digest of what stands at some places of a sheet."""
    stands = [[path, as_raw(get(calibration, path))] for path in sorted(paths)]
    for place in stands:  # its number in the list may change, what it is does not
        place[0] = by_id(calibration, str(place[0]))
    import json  # a plain audit needs none of it

    text = json.dumps(stands, sort_keys=True, ensure_ascii=False, default=str)
    return hashlib.sha256(text.encode()).hexdigest()[:_SHOWN]


def mark_of(finding: Finding, file: str, calibration: Calibration) -> str:
    """The mark of what a finding of this sheet is about: what an acceptance names as `of`."""
    return mark(calibration, [place.removeprefix(f"{file}:") for place in finding.places])


def by_id(calibration: Calibration, path: str) -> str:
    """A path that names its correction instead of counting it."""
    head, bracket, rest = path.partition("spark.correction[")
    if head or not bracket:
        return path
    index, _, below = rest.partition("]")
    name = calibration.spark.correction[int(index)].id
    spelt = f'"{name}"' if any(c in name for c in '.[]"') else name
    return f"spark.correction.{spelt}{below}"


def told(check: str, file: str, calibration: Calibration, said: Iterable[Said]) -> list[Finding]:
    """Findings of one check of one sheet, with the owner's word on each."""
    return [_told(check, file, calibration, one) for one in said]


def _told(check: str, file: str, calibration: Calibration, said: Said) -> Finding:
    places = tuple(f"{file}:{path}" for path in said.paths)
    finding = Finding(check, said.severity, places, said.says, said.do, said.size)
    word = next(
        (a for a in calibration.audit.accepted if _means(calibration, a, check, said)), None
    )
    if word is None:
        return finding
    if word.of == mark(calibration, said.paths):
        return replace(finding, accepted=word.reason)
    was = f"{said.says} It was accepted ({word.reason}), but what it is about has changed since."
    return replace(finding, says=was)


def _means(calibration: Calibration, accepted: Accepted, check: str, said: Said) -> bool:
    if accepted.check != check:
        return False
    try:
        places = {normal(calibration, path) for path in accepted.places}
    except SheetError:
        return False  # a correction that is gone
    return places == set(said.paths)


def entry(finding: Finding, file: str, calibration: Calibration, reason: str) -> str:
    """The lines of a sheet that accept a finding."""
    import json

    paths = [by_id(calibration, place.removeprefix(f"{file}:")) for place in finding.places]
    lines = [
        "[[audit.accepted]]",
        f"check = {json.dumps(finding.check)}",
        f"places = {json.dumps(paths, ensure_ascii=False)}",
        f"reason = {json.dumps(reason, ensure_ascii=False)}",
        f"of = {json.dumps(mark_of(finding, file, calibration))}",
    ]
    return "\n".join(lines) + "\n"
