"""What a calibration says against itself, before anyone has driven it.

`tl.audit(...)` and this room share a name; so the room itself can be called: it is `audit_files`.
"""

import sys
from importlib import import_module
from types import ModuleType
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from tuneledger.audit.job import audit_files as audit_files
    from tuneledger.audit.model import Audit as Audit
    from tuneledger.audit.model import Finding as Finding

__all__ = ["Audit", "Finding", "audit_files"]

_HOMES = {"audit_files": "job", "Audit": "model", "Finding": "model"}


def __getattr__(name: str) -> Any:
    if name not in _HOMES:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(import_module(f"{__name__}.{_HOMES[name]}"), name)


class _Room(ModuleType):
    """A room that can be called."""

    def __call__(self, *paths: Any, **options: Any) -> Any:
        from tuneledger.audit.job import audit_files

        return audit_files(*paths, **options)


sys.modules[__name__].__class__ = _Room
