"""What a picture shows: the seconds around a cause, seconds that somebody named, or a whole log."""

import re

from tuneledger.errors import Fault, UsageError
from tuneledger.pages.names import name_of
from tuneledger.record import record
from tuneledger.statement.model import Statement
from tuneledger.wording import count

# Of the window's length, and seconds, left free at either side of a cause's longest episode.
_ROOM, _LEAST = 0.35, 0.4


@record
class Window:
    """A stretch of one log, in seconds from its first sample.

    cause:  index of the cause whose channels are drawn with it, None for none
    chosen: somebody asked for that cause, so that it is what the picture is about
    """

    log: int
    start_s: float
    end_s: float
    cause: int | None
    chosen: bool = False


def window_of(statement: Statement, what: str) -> Window:
    """The window that `what` names: `cause 2`, `12.4-18`, or "" for the first cause.

    Raises UsageError where there is no such thing.
    """
    if found := re.fullmatch(r"(?:cause )?(\d+)", what):
        return _of_cause(statement, int(found[1]) - 1, chosen=True)
    if found := re.fullmatch(r"(\d+(?:\.\d+)?)\s*(?:-|–|to)\s*(\d+(?:\.\d+)?)", what):
        start, end = float(found[1]), float(found[2])
        lasts = statement.logs[0].log.duration_s
        if not start < min(end, lasts):
            raise nothing(f"there is nothing from {start:g} to {end:g} s in the first log")
        return Window(0, start, min(end, lasts), _first(statement))
    if what:
        raise UsageError(
            Fault(
                f"'{name_of(what)}' is nothing that can be drawn",
                expected="'cause 2', seconds such as '12.4-18', or 'map'",
            )
        )
    if _first(statement) is not None and statement.causes[0].episodes:
        return _of_cause(statement, 0)
    return Window(0, 0.0, statement.logs[0].log.duration_s, _first(statement))


def _first(statement: Statement) -> int | None:
    return 0 if statement.causes else None


def _of_cause(statement: Statement, index: int, *, chosen: bool = False) -> Window:
    """A cause's longest episode, with some room at either side."""
    if not 0 <= index < len(statement.causes):
        raise nothing(
            f"there are {count(len(statement.causes), 'cause')}, and no cause {index + 1}"
        )
    own = [statement.episodes[i] for i in statement.causes[index].episodes]
    if not own:
        return Window(0, 0.0, statement.logs[0].log.duration_s, index, chosen)
    longest = max(own, key=lambda e: e.end_s - e.start_s)
    room = max(_LEAST, (longest.end_s - longest.start_s) * _ROOM)
    end = min(longest.end_s + room, statement.logs[longest.log].log.duration_s)
    return Window(longest.log, max(0.0, longest.start_s - room), end, index, chosen)


def nothing(found: str) -> UsageError:
    """What is said where there is nothing to draw."""
    return UsageError(Fault(found, do="Name something else to draw."))
