"""How often the answers are right, on cases with known truth.

    python -m benchmarks.accuracy                        the shared cases, printed
    python -m benchmarks.accuracy --generated 300 --peer --write docs/accuracy.md

Cases lie in a folder (by default the shared cases beside the project, where they are) or are made
by the virtual car from seeds of their own. A tool under test gets the log and the sheets, nothing
else. Every miss is listed with its reason.
"""

import argparse
import os
import sys
import tempfile
import time
from collections.abc import Callable, Iterable, Sequence
from concurrent.futures import ProcessPoolExecutor
from functools import partial
from pathlib import Path
from typing import TypeVar

from benchmarks.accuracy_page import Part, page
from benchmarks.report import case_table, kind_table, miss_list, reliability
from benchmarks.score import Score, failed, score
from benchmarks.tools import NoStatementError, Tool, by_command, in_process, told_roles
from benchmarks.truth import Case, cases_in

SHARED = Path(__file__).parents[2] / "shared" / "cases"
In = TypeVar("In")
Out = TypeVar("Out")
FIRST_SEED = 70_001  # benchmark seeds lie apart from those that tests and development use


def measure(tool: Tool, case: Case) -> Score:
    """The score of one case; a tool that gives nothing has missed it."""
    try:
        result = tool(case)
    except NoStatementError as fault:
        return failed(case, str(fault))
    return score(case, result)


def measure_all(tool: Tool, cases: Iterable[Case], jobs: int) -> list[Score]:
    """Scores of all cases in their order, over several processes."""
    return _each(partial(measure, tool), list(cases), jobs)


def generate(
    folder: Path, count: int, first_seed: int, kinds: Sequence[str] | None, jobs: int
) -> list[Case]:
    """Made cases, all kinds in turn, each with a seed of its own; those in the folder are kept."""
    from tuneledger.car.cases import KINDS

    wanted = list(kinds or KINDS)
    made = [(wanted[i % len(wanted)], first_seed + i) for i in range(count)]
    return _each(partial(_make, folder), made, jobs)


def _make(folder: Path, made: tuple[str, int]) -> Case:
    from tuneledger.car.cases import make_case, write_case

    kind, seed = made
    target = folder / f"{kind}-{seed}"
    if not (target / "truth.json").is_file():
        write_case(make_case(kind, seed), target)
    return Case(target)


def _each(work: Callable[[In], Out], items: Sequence[In], jobs: int) -> list[Out]:
    if jobs == 1:
        return [work(item) for item in items]
    with ProcessPoolExecutor(jobs) as pool:
        return list(pool.map(work, items))


def main() -> None:
    """Measure, print, and write the page where asked."""
    given = _arguments()
    tool: Tool = by_command if given.subprocess else in_process
    if given.told_roles:
        tool = told_roles
    started, parts = time.monotonic(), []
    if given.cases.is_dir() and not given.no_shared:
        chosen = [
            case for case in cases_in(given.cases) if not given.only or case.kind in given.only
        ]
        parts.append(Part("Shared cases", measure_all(tool, chosen, given.jobs)))
    elif not given.no_shared:
        print(f"No cases in {given.cases.name}: only made cases are measured.", file=sys.stderr)
    with tempfile.TemporaryDirectory() as kept:
        folder = Path(given.keep or kept)
        if given.generated:
            made = generate(folder, given.generated, given.seed, given.only, given.jobs)
            parts.append(Part("Made cases", measure_all(tool, made, given.jobs), given.seed))
            if given.peer:
                from benchmarks.peer import peer

                told = measure_all(told_roles, made, given.jobs)
                parts.append(Part("Told which channel is which", told, given.seed))
                parts.append(Part("The peer", measure_all(peer, made, given.jobs), given.seed))
    _show(parts, time.monotonic() - started)
    if given.write:
        given.write.write_text(page(parts), encoding="utf-8")
        print(f"Written: {given.write}")


def _show(parts: Sequence[Part], seconds: float) -> None:
    for part in parts:
        print(f"\n{part.title}\n")
        print(case_table(part.scores) if len(part.scores) <= 40 else kind_table(part.scores))
        if len(part.scores) <= 40:
            print("\n" + kind_table(part.scores).splitlines()[-1])
        print("\n" + miss_list(part.scores))
        print("\n" + reliability(part.scores))
    print(f"\n{seconds:.0f} s")


def _arguments() -> argparse.Namespace:
    parser = argparse.ArgumentParser(description="Measure accuracy on cases with known truth.")
    parser.add_argument("--cases", type=Path, default=SHARED, help="a folder of cases")
    parser.add_argument("--no-shared", action="store_true", help="leave that folder out")
    parser.add_argument("--generated", type=int, default=0, metavar="N", help="make N cases too")
    parser.add_argument("--seed", type=int, default=FIRST_SEED, help="first seed of made cases")
    parser.add_argument("--only", nargs="+", metavar="KIND", help="these kinds only")
    parser.add_argument(
        "--keep", metavar="FOLDER", help="keep made cases there, and use those already there"
    )
    parser.add_argument("--told-roles", action="store_true", help="say which channel is which")
    parser.add_argument("--peer", action="store_true", help="measure the peer on made cases too")
    parser.add_argument(
        "--subprocess", action="store_true", help="run the command, not the library"
    )
    parser.add_argument("--jobs", type=int, default=os.cpu_count() or 1)
    parser.add_argument("--write", type=Path, metavar="PAGE.md", help="write the page of the docs")
    return parser.parse_args()


if __name__ == "__main__":
    main()
