"""Columns of Parquet that say less of their size than they become, tried in a process apart.

Where a page holds differences (DELTA_BINARY_PACKED, DELTA_LENGTH_BYTE_ARRAY, DELTA_BYTE_ARRAY of
Apache Parquet, `Encodings.md`), how many there are stands once more within it, packed; and texts
that each repeat the beginning of the one before come to far more than the page. The library that
reads them takes both at their word, and the program with it. So they are read once with a bound on
memory and time, and what their texts come to is counted.
"""

from subprocess import TimeoutExpired

from tuneledger.apart import run_apart
from tuneledger.bounded import how_to_raise
from tuneledger.errors import Fault, LogError
from tuneledger.logs.limits import Limits, bytes_text
from tuneledger.logs.source import Source
from tuneledger.logs.typed.lazily import damaged, plain_words

DAMAGED = 3  # the child's exit status where the library refuses a column; why is its last line
_ITSELF = 2 << 30  # bytes of address space that the child takes before it reads anything


def text_bytes(source: Source, columns: tuple[int, ...], limits: Limits) -> int:
    """How many bytes the texts of those columns come to, together.

    columns: their numbers in the table, from 0; none: all
    LogError where one needs more memory or time than it may, or is damaged.
    """
    most = limits.of_table(source.size)
    memory = _ITSELF + source.size + most
    given = (str(source.path.resolve()), str(memory), str(round(limits.seconds)))
    try:
        done = run_apart(
            "tuneledger.logs.typed.child", *given, *map(str, columns), seconds=limits.seconds
        )
    except TimeoutExpired:
        found = f"its columns cannot be read in {limits.seconds:.0f} s"
        raise LogError(Fault(found, file=source.name, do=how_to_raise())) from None
    if done.returncode == 0:
        return int(done.stdout)
    lines = done.stderr.decode("utf-8", "replace").strip().splitlines()
    if done.returncode == DAMAGED:
        why = plain_words(lines[-1]) if lines else ""
        raise damaged(source, why or "a column cannot be read")
    found = f"its {bytes_text(source.size)} would become more than {bytes_text(most)}"
    raise LogError(Fault(found, file=source.name, do=how_to_raise()))
