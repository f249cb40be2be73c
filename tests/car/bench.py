"""A bench for the virtual ECU: a sheet in a few words, fed with numbers typed into a test."""

from collections.abc import Mapping, Sequence
from typing import Any

from tuneledger.car.ecu import Ecu, Step
from tuneledger.car.sheets import calibration

Column = Sequence[float | None]


def sheet(*corrections: Mapping[str, Any], **spark: Any) -> dict[str, Any]:
    """A sheet whose map is 20 degrees everywhere, unless told otherwise."""
    named = [{"id": f"c{n}"} | dict(c) for n, c in enumerate(corrections, 1)]
    return {"revision": "A", "spark": {"map": {"amount": 20.0}, "correction": named} | spark}


def run(
    sheet: Mapping[str, Any],
    times: Sequence[float],
    columns: Mapping[str, Column],
    **options: Any,
) -> list[Step]:
    """Every sample through the ECU; `columns` by signal or channel name, in the sheet's units."""
    ecu = Ecu(calibration(sheet), **options)

    def at(row: int) -> Any:
        return lambda kind, name, unit: columns[name][row] if name in columns else None

    return [ecu.step(t, at(row)) for row, t in enumerate(times)]


def entry(steps: Sequence[Step], name: str = "c1") -> list[float | None]:
    """What one correction posted, sample by sample, without float dust."""
    return [None if (e := s.entries[name]) is None else round(e, 9) + 0.0 for s in steps]


def delivered(steps: Sequence[Step]) -> list[float | None]:
    return [None if s.delivered is None else round(s.delivered, 9) for s in steps]
