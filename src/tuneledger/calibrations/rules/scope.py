"""What a place in a sheet can see: the corrections that stand before it, and all of them."""

from typing import NamedTuple


class Scope(NamedTuple):
    """Ids of corrections that stand earlier in the sheet, the own id, and all ids in order."""

    earlier: tuple[str, ...] = ()
    own: str | None = None
    all: tuple[str, ...] = ()
