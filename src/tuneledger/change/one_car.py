"""Whether both drives are of one car: asked where the logs themselves speak against it."""

from collections.abc import Sequence

from tuneledger.change.visited import Drive, each
from tuneledger.explain import onecar
from tuneledger.wording import sentence


def doubts(first: Sequence[Drive | None], second: Sequence[Drive | None]) -> tuple[str, ...]:
    """What speaks against one car, a clause each; none where nothing does."""
    before, after = _driven(first), _driven(second)
    return tuple(onecar.doubts(before, after, ("before", "after")))


def _driven(drives: Sequence[Drive | None]) -> list[onecar.Driven]:
    return [(drive.account.log, drive.inputs) for _, drive in each(drives)]


def question(found: Sequence[str]) -> str:
    """The question, with what raises it; empty where nothing does."""
    return f"Are both drives of one car? {sentence('; '.join(found))}" if found else ""
