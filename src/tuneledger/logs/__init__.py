"""Logs: whatever was recorded, as one immutable `Log`. Formats are listed without importing them.

`open_log(path)` reads a log of any known format, or raises a `LogError` that says what to do.
"""

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from tuneledger.logs.registry import FORMATS, open_log, recognise

__all__ = ["FORMATS", "open_log", "recognise"]


def __getattr__(name: str) -> Any:
    if name in __all__:
        from tuneledger.logs import registry

        return getattr(registry, name)
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
