"""What a place in a sheet can see: the corrections that stand before it, and all of them."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Scope:
    """Ids of corrections that stand earlier in the sheet, the own id, and all ids in order."""

    earlier: tuple[str, ...] = ()
    own: str | None = None
    all: tuple[str, ...] = ()
