"""Runs apart: reads columns of a Parquet file, and prints how many bytes their texts come to.

Called as `python -m tuneledger.logs.typed.child FILE MEMORY SECONDS [COLUMN ...]`.
"""

import os
import sys

from tuneledger.bounded import bound_process
from tuneledger.logs.typed.apart import DAMAGED


def main(arguments: list[str]) -> int:
    file, memory, seconds, *columns = arguments
    bound_process(int(memory), int(seconds))
    os.environ["POLARS_MAX_THREADS"] = "1"  # each takes address space of its own
    from polars.exceptions import PanicException, PolarsError

    try:
        sys.stdout.write(str(_text_bytes(file, [int(column) for column in columns])))
    except PanicException:
        sys.stderr.write("\na column cannot be read\n")
        return DAMAGED
    except (PolarsError, OSError) as problem:
        sys.stderr.write(f"\n{' '.join(str(problem).split())}\n")
        return DAMAGED
    return 0


def _text_bytes(file: str, columns: list[int]) -> int:
    import polars as pl

    scan = pl.scan_parquet(file, glob=False, hive_partitioning=False)
    names = scan.collect_schema().names()
    total = 0
    for column in columns or range(len(names)):
        cells = scan.select(names[column]).collect().to_series()
        if cells.dtype == pl.String:
            total += int(cells.str.len_bytes().sum() or 0)
        elif cells.dtype == pl.Binary:
            total += int(cells.bin.size().sum() or 0)
    return total


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
