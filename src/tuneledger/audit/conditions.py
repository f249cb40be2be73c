"""Every condition of a sheet with its path."""

from collections.abc import Iterator

from tuneledger.audit.sheet import Audited
from tuneledger.calibrations.model import AnyOf, Comparison, Condition, Correction


def every_condition(sheet: Audited) -> Iterator[tuple[Correction, str, Condition]]:
    """(correction, path, condition) of the enabled corrections, those inside others too."""
    for path, correction in sheet.enabled:
        for number, condition in enumerate(correction.when):
            yield from _within(correction, f"{path}.when[{number}]", condition)
        if correction.until is not None and correction.until != "power off":
            yield from _within(correction, f"{path}.until", correction.until)


def comparisons(correction: Correction) -> Iterator[Comparison]:
    """The comparisons of a correction's `when`, those inside `any` too."""
    for condition in correction.when:
        if isinstance(condition, Comparison):
            yield condition
        elif isinstance(condition, AnyOf):
            yield from (one for one in condition.any if isinstance(one, Comparison))


def _within(
    correction: Correction, path: str, condition: Condition
) -> Iterator[tuple[Correction, str, Condition]]:
    yield correction, path, condition
    if isinstance(condition, AnyOf):
        for number, one in enumerate(condition.any):
            yield from _within(correction, f"{path}.any[{number}]", one)
    elif isinstance(condition, Comparison) and condition.since is not None:
        yield from _within(correction, f"{path}.since", condition.since)
