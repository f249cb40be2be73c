"""Sheets and findings for tests of checks: a healthy sheet, to which a test adds one thing."""

from typing import Any

from tuneledger.audit.job import audit
from tuneledger.audit.model import Audit, Finding
from tuneledger.calibrations.check import check
from tuneledger.calibrations.model import FORMAT, Calibration

SPEEDS = [800.0, 1500.0, 3000.0, 4500.0, 6000.0, 7000.0]
PRESSURES = [30.0, 60.0, 100.0, 160.0, 220.0]
CELLS = [
    [14.0, 20.0, 28.0, 32.0, 34.0, 34.0],
    [13.0, 18.0, 26.0, 30.0, 32.0, 32.0],
    [11.0, 14.0, 21.0, 25.0, 27.0, 27.0],
    [8.0, 10.0, 15.0, 19.0, 21.0, 21.0],
    [6.0, 7.0, 11.0, 15.0, 17.0, 17.0],
]
THROTTLE = {"signal": "throttle position", "unit": "%"}
COOLANT = {"signal": "engine coolant temperature", "unit": "degC"}
INTAKE = {"signal": "intake air temperature", "unit": "degC"}
SPEED = {"signal": "engine speed", "unit": "rpm"}
OIL = {"signal": "oil pressure", "unit": "kPa"}


def map_of(cells: list[list[Any]] | None = None, **axes: Any) -> dict[str, Any]:
    down = {"signal": "manifold absolute pressure", "unit": "kPa", "at": PRESSURES}
    across = SPEED | {"at": SPEEDS}
    return {
        "axes": [down | axes.get("down", {}), across | axes.get("across", {})],
        "values": cells or CELLS,
    }


def sheet(*corrections: dict[str, Any], **parts: Any) -> Calibration:
    """A healthy map with these corrections; `map`, `limits` go into spark, the rest to the top."""
    named = [{"id": f"c{n}", "reason": "other"} | c for n, c in enumerate(corrections)]
    spark = {"map": map_of(), "correction": named}
    spark |= {k: parts.pop(k) for k in ("map", "limits") if k in parts}
    whole = {"format": FORMAT, "revision": "A", "engine": {"redline_rpm": 7000.0}, "spark": spark}
    return check(whole | parts)


def audited(*sheets: Calibration, **options: Any) -> Audit:
    """The audit of sheets, the oldest first, in files with their revisions' names."""
    names = [f"rev-{sheet.revision.lower()}.toml" for sheet in sheets]
    names = [f"{n}-{name}" if names.count(name) > 1 else name for n, name in enumerate(names)]
    return audit(list(zip(names, sheets, strict=True)), **options)


def found(name: str, *sheets: Calibration, **options: Any) -> list[Finding]:
    """What one check has to say."""
    return [f for f in audited(*sheets, **options).findings if f.check == name]


def changed(cells: dict[tuple[int, int], Any]) -> list[list[Any]]:
    """The healthy map's cells with some others."""
    rows: list[list[Any]] = [list(row) for row in CELLS]
    for (row, column), value in cells.items():
        rows[row][column] = value
    return rows
