"""The checks by name. A new one is one file in `checks` and one line here.

Nothing is imported until a check runs: to list them needs only this file.
"""

from collections.abc import Callable, Iterable, Iterator
from importlib import import_module
from typing import TYPE_CHECKING, TypeAlias

if TYPE_CHECKING:
    from tuneledger.audit.model import Said
    from tuneledger.audit.sheet import Audited

    Check: TypeAlias = Callable[["Audited"], Iterable["Said"]]

CHECKS: tuple[str, ...] = (
    # what can hurt
    "guard-adds",
    "guard-high",
    "hot-adds",
    "idle-sign",
    "band",
    "raised",
    # what does not do what it is written for
    "never-true",
    "contradiction",
    "never-ends",
    "no-such-advance",
    "unit-slip",
    "limit-clips-map",
    "limit-early",
    "rows-swapped",
    # what somebody should look at
    "one-name",
    "idle-authority",
    "idle-range",
    "idle-open",
    "limit-works",
    "flicker",
    "same-cause",
    "unnamed",
    "map-outlier",
    "map-cliff",
    "axis-short",
    "unsaid",
    # what is good to know
    "moves",
    "asleep",
    "does-nothing",
    "always-true",
    "repeated",
    "unknown-cells",
    "changed",
)


def module_of(name: str) -> str:
    """The module that holds a check as `check`, and its page as its docstring."""
    return f"tuneledger.audit.checks.{name.replace('-', '_')}"


def load(name: str) -> "Check":
    """The check of that name, imported now. Raises ModuleNotFoundError where there is none."""
    check: Check = import_module(module_of(name)).check
    return check


def each() -> Iterator[tuple[str, "Check"]]:
    """Every check with its name, in the order of `CHECKS`, imported one by one."""
    return ((name, load(name)) for name in CHECKS)
