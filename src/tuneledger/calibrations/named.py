"""Which corrections a part of a sheet asks for by name."""

from collections.abc import Iterator

from tuneledger.calibrations.model import CorrectionActive, Part


def named_corrections(part: Part) -> Iterator[str]:
    """Ids of the corrections whose activity a part of a sheet asks for, however deep inside."""
    if isinstance(part, CorrectionActive):
        yield part.correction
    for name in type(part).model_fields:
        value = getattr(part, name)
        for item in value if isinstance(value, tuple) else (value,):
            if isinstance(item, Part):
                yield from named_corrections(item)
