"""A file that is sent to a case: received within bounds, told apart, laid beside the others."""

from collections.abc import AsyncIterator
from dataclasses import replace

from starlette.concurrency import run_in_threadpool

from tuneledger.bounded import json_of
from tuneledger.desk.case import files_of
from tuneledger.desk.drawer import Case
from tuneledger.desk.intake import free_name, lay_down, receive, safe_name, too_large, too_many
from tuneledger.desk.limits import DeskLimits
from tuneledger.errors import TuneledgerError
from tuneledger.pages.notes import FORMAT, read_notes

_LARGEST_NOTES = 1_000_000


async def arrive(
    case: Case, name: str, size: str, body: AsyncIterator[bytes], limits: DeskLimits
) -> None:
    """Take a file in. A `TuneledgerError` where it is too large, damaged, or one too many."""
    if size.isdigit() and int(size) > limits.file:
        raise too_large(safe_name(name), limits)
    taken = [paper.name for paper in case.settings.papers]
    if len(taken) >= limits.files:
        raise too_many(safe_name(name), limits)
    folder = files_of(case.folder)
    there = [*taken, *(path.name for path in folder.iterdir())]
    target = folder / free_name(safe_name(name), there)
    await receive(body, target, limits)
    await run_in_threadpool(_lay, case, target.name, limits)


def _lay(case: Case, name: str, limits: DeskLimits) -> None:
    target = files_of(case.folder) / name
    try:
        if _took_notes(case, name):
            target.unlink()
            return
        with case.lock:
            taken = [paper.name for paper in case.settings.papers]
            papers = lay_down(case.folder, target, limits, taken)
            case.change(replace(case.record, settings=case.settings.with_papers(*papers)))
    except TuneledgerError:
        target.unlink(missing_ok=True)
        raise


def _took_notes(case: Case, name: str) -> bool:
    """Whether the file holds notes; then they are the case's."""
    target = files_of(case.folder) / name
    if target.stat().st_size > _LARGEST_NOTES:
        return False
    text = target.read_text(encoding="utf-8", errors="replace")
    given = json_of(text)
    if not isinstance(given, dict) or given.get("format") != FORMAT:
        return False
    case.note(read_notes(text, name))
    return True
