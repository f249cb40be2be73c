"""The same done for several things at the same time, in threads."""

from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from typing import TypeVar

_Thing = TypeVar("_Thing")
_Found = TypeVar("_Found")
_Other = TypeVar("_Other")
_AT_ONCE = 2


def side_by_side(what: Callable[[_Thing], _Found], of: Sequence[_Thing]) -> tuple[_Found, ...]:
    """What a function gives for each, in their order; the first of its errors goes through.

    It pays where most of the work is done on whole columns, for which Python need not wait.
    """
    if len(of) < 2:
        return tuple(map(what, of))
    with ThreadPoolExecutor(_AT_ONCE) as threads:
        return tuple(threads.map(what, of))


def both(one: Callable[[], _Found], other: Callable[[], _Other]) -> tuple[_Found, _Other]:
    """What two functions give, done at the same time; an error of the first goes before one of the
    second."""
    with ThreadPoolExecutor(1) as beside:
        waiting = beside.submit(other)
        return one(), waiting.result()
