"""tuneledger: where every degree of spark advance went, with evidence.

    import tuneledger as tl

    statement = tl.reconcile([Path("climb-2.csv"), Path("rev-d.toml")])
    log = tl.open_log("climb-2.csv")
    sheet = tl.open_calibration("rev-d.toml")
    findings = tl.audit([Path("rev-d.toml")]).findings

What is named here is loaded when it is first used, so that the command line starts fast.
"""

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from tuneledger.audit import audit_files as audit
    from tuneledger.calibrations import open_calibration as open_calibration
    from tuneledger.change.order import order as order
    from tuneledger.change.prove import prove as prove
    from tuneledger.change.rehearse import rehearse as rehearse
    from tuneledger.light import timing_light as timing_light
    from tuneledger.logs import open_log as open_log
    from tuneledger.main_job import reconcile_files as reconcile

    __version__: str

_HOMES = {
    "open_log": ("tuneledger.logs", "open_log"),
    "open_calibration": ("tuneledger.calibrations", "open_calibration"),
    "audit": ("tuneledger.audit", "audit_files"),
    "reconcile": ("tuneledger.main_job", "reconcile_files"),
    "order": ("tuneledger.change.order", "order"),
    "prove": ("tuneledger.change.prove", "prove"),
    "rehearse": ("tuneledger.change.rehearse", "rehearse"),
    "timing_light": ("tuneledger.light", "timing_light"),
}

__all__ = [
    "__version__",
    "audit",
    "open_calibration",
    "open_log",
    "order",
    "prove",
    "reconcile",
    "rehearse",
    "timing_light",
]


def __getattr__(name: str) -> Any:
    if name == "__version__":
        from importlib.metadata import version

        return version("tuneledger")
    if name in _HOMES:
        module, attribute = _HOMES[name]
        return getattr(import_module(module), attribute)
    raise AttributeError(f"module 'tuneledger' has no attribute '{name}'")
