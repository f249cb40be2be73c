"""Delimited text: a header row of channel names, then samples. See `plan`, `body`, `reader`."""

from typing import TYPE_CHECKING

from tuneledger.errors import Fault, LogError
from tuneledger.logs.delimited.layout import Unlike
from tuneledger.logs.limits import Limits
from tuneledger.logs.source import Source

if TYPE_CHECKING:
    from tuneledger.logs.delimited.plan import Plan
    from tuneledger.logs.model import Log

_DO = {
    Unlike.NOT_TEXT: "If it came from a logger's own program, export it there as delimited text.",
    Unlike.NO_HEADER: "Put a row with the names of the channels above the numbers.",
    Unlike.NO_SAMPLES: "Record again, or copy the file from the logger once more.",
    Unlike.NO_TABLE: "Export the log as delimited text, with a header row of channel names.",
}


def detect(source: Source) -> bool:
    """Whether a file is a log in delimited text, by its content; never raises."""
    from tuneledger.logs.delimited.plan import Plan, plan, too_wide

    return too_wide(source) is not None or isinstance(plan(source), Plan)


def why_not(source: Source) -> Fault | None:
    """What keeps a file from being a log in delimited text, or None where it is one."""
    from tuneledger.logs.delimited.plan import Plan, plan, text_of

    found = plan(source)
    if isinstance(found, Plan):
        return None
    from tuneledger.logs.delimited.prose import reads_like_prose

    if found is not Unlike.NOT_TEXT and reads_like_prose(source):
        return Fault(
            "this reads like a letter or a note: sentences, and hardly a number",
            file=source.name,
            expected="a log: one header row of channel names, then samples",
            do="Leave it out, and give the file that the logger wrote.",
        )
    if found is Unlike.NO_HEADER and (text := text_of(source)) is not None:
        from tuneledger.logs.delimited.headless import cut_off_header

        fault = cut_off_header(text.lines, source.name, whole=source.whole)
        if fault is not None:
            return fault
    return Fault(
        found.value,
        file=source.name,
        expected="a log: one header row of channel names, then samples",
        do=_DO[found],
    )


def names(source: Source) -> tuple[str, ...]:
    """What the channels are called, from the header row alone."""
    from tuneledger.logs.delimited.channels import find_channels
    from tuneledger.logs.delimited.plan import Plan, plan, too_wide

    if too_wide(source) is not None:
        return ()
    found = plan(source)
    if not isinstance(found, Plan):
        return ()
    return tuple(channel.name for channel in find_channels(source.name, found.layout))


def read(source: Source, limits: Limits) -> "Log":
    """Read a log. LogError where the file cannot be used, with the place and what to do."""
    from tuneledger.logs.delimited.plan import Plan, plan, raise_if, too_wide

    raise_if(too_wide(source, limits), source)
    found = plan(source)
    if not isinstance(found, Plan):
        fault = why_not(source)
        raise LogError(fault if fault is not None else Fault("not a log", file=source.name))
    return read_planned(source, found, limits)


def read_planned(source: Source, how: "Plan", limits: Limits) -> "Log":
    """Read a log of which it is known how. LogError as for `read`."""
    from tuneledger.logs.delimited.body import read_body
    from tuneledger.logs.delimited.plan import check

    check(source, how, limits)
    body = read_body(source, how.text, how.layout)
    # Only now: what makes a log of it needs numpy, which is imported while the file is being read.
    from tuneledger.logs.delimited.reader import as_log

    return as_log(source, how, body)
