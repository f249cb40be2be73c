"""The formats of logs: what they are called, how to know them, and which module reads them.

A new format is one room with a `detect` and a `read`, and one line here. Listing imports nothing;
a format's module is imported only when a file is to be told or read.
"""

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from functools import partial
from importlib import import_module
from pathlib import Path
from typing import TYPE_CHECKING

from tuneledger.errors import Fault, LogError
from tuneledger.logs.limits import Limits, current
from tuneledger.logs.packed import is_packed, packed_unread
from tuneledger.logs.source import Source, open_source, standard_input
from tuneledger.record import record
from tuneledger.wording import count

if TYPE_CHECKING:
    from tuneledger.logs.model import Log


@record
class Format:
    """A log format.

    module: has `detect(source) -> bool`, which never raises and claims by content alone;
            `read(source, limits) -> Log`, which raises `LogError`; and
            `why_not(source) -> Fault | None`, what a person should hear about a file that looks
            meant for this format and is not one. It may have `names(source)`: what its channels
            are called, where that is known before all of it is read; it raises what `read` does
    """

    name: str
    says: str
    module: str

    def detect(self, source: Source) -> bool:
        found: Callable[[Source], bool] = import_module(self.module).detect
        return found(source)

    def read(self, source: Source, limits: Limits | None = None) -> "Log":
        reader: Callable[[Source, Limits], Log] = import_module(self.module).read
        return reader(source, limits or current())

    def names(self, source: Source) -> tuple[str, ...]:
        known: Callable[[Source], tuple[str, ...]] | None = getattr(
            import_module(self.module), "names", None
        )
        try:
            return known(source) if known else ()
        except LogError:
            return ()

    def why_not(self, source: Source) -> Fault | None:
        reason: Callable[[Source], Fault | None] = import_module(self.module).why_not
        return reason(source)


# Those that a few first bytes tell come first; delimited text has to be looked at.
FORMATS: tuple[Format, ...] = (
    Format("Parquet", "one table with a column of time", "tuneledger.logs.parquet"),
    Format("ASAM MDF", "groups of channels, each with its time", "tuneledger.logs.mdf"),
    Format("workbook", "XLSX, XLS or ODS, the log on a sheet", "tuneledger.logs.workbook"),
    Format("Arrow IPC", "one table with a column of time", "tuneledger.logs.arrow"),
    Format(
        "delimited text",
        "one header row of channel names, then samples; comma, semicolon, tab or bar between cells",
        "tuneledger.logs.delimited",
    ),
)


def recognise(path: Path) -> Format | None:
    """The format that claims the file by its content, or None. LogError if it cannot be read."""
    return _claiming(open_source(path))


def open_log(path: Path | str, *, limits: Limits | None = None) -> "Log":
    """Read a log, whatever its format and its file's name; one packed log counts as that log.

    Raises `LogError`: no such file, a folder, empty, not a log, several files in one archive, or a
    log that cannot be used, each with where and what to do.
    """
    return read_log(open_one(path, limits), limits)


def open_one(path: Path | str, limits: Limits | None = None) -> Source:
    """The one file that a path stands for. LogError as for `open_log`, where several are in it."""
    sources = open_sources(Path(path), limits)
    if len(sources) > 1:
        raise LogError(
            Fault(
                f"it holds {count(len(sources), 'file')}",
                file=Path(path).name,
                expected="one log",
                do="Unpack it and name one of them.",
            )
        )
    return sources[0]


def open_sources(path: Path, limits: Limits | None = None) -> tuple[Source, ...]:
    """The file, or the files that are packed in it; `-` is what is piped in.

    limits: those that hold now, where none are given; so everywhere below
    LogError where it cannot be read, or is beyond the limits.
    """
    limits = limits or current()
    source = standard_input(limits.unpacked) if str(path) == "-" else open_source(path)
    if not is_packed(source):
        return (source,)
    from tuneledger.logs.packed.archives import unpack

    return unpack(source, limits)


def read_log(source: Source, limits: Limits | None = None) -> "Log":
    """Read a file that was looked at. LogError as for `open_log`."""
    form = _claiming(source)
    if form is None:
        raise LogError(_refusal(source))
    return form.read(source, limits)


@record
class Begun:
    """A log that is being read.

    names: gives its channels' names, as far as they are known before it is read
    log:   waits for it and gives it, or raises what `read_log` does
    """

    names: Callable[[], tuple[str, ...]]
    log: "Callable[[], Log]"


def begin_log(source: Source, limits: Limits | None = None) -> Begun:
    """Begin to read a file in a thread of its own.

    Most of the time the reading needs no interpreter: whatever else is to be done in Python costs
    little beside it.
    """
    form = _claiming(source)
    if form is None:
        return Begun(tuple, lambda: read_log(source, limits))  # which says why not
    import polars  # noqa: F401  before there are two threads, which would hold each other up

    beside = ThreadPoolExecutor(max_workers=1)
    log = beside.submit(form.read, source, limits)
    beside.shutdown(wait=False)
    return Begun(partial(form.names, source), log.result)


_SHEET = b'"tuneledger-calibration/'  # as a sheet says of itself, to tell it from a broken log


def _claiming(source: Source) -> Format | None:
    return next((form for form in FORMATS if form.detect(source)), None)


def _refusal(source: Source) -> Fault:
    if _SHEET in source.head:
        return Fault(
            "this is a calibration sheet",
            file=source.name,
            expected="a log",
            do="`tuneledger audit` and `tuneledger sheet check` look at sheets; "
            "`tuneledger reconcile` holds a log against them.",
        )
    if source.name.casefold().endswith(".toml"):
        return Fault(
            "this is neither a calibration sheet nor a log",
            file=source.name,
            expected='a log, or a sheet that begins with format = "tuneledger-calibration/1"',
            do="`tuneledger sheet new` writes one to start from.",
        )
    packed = packed_unread(source)
    if packed is not None:
        return packed
    for form in FORMATS:
        fault = form.why_not(source)
        if fault is not None:
            return fault
    return Fault(
        "this is not a log of a known format",
        file=source.name,
        expected=", or ".join(f"{form.name} ({form.says})" for form in FORMATS),
        do="Export the log as delimited text, with a header row of channel names.",
    )
