"""What is said of the running revision where several ran in turn, in a log or from log to log."""

from collections.abc import Sequence

import numpy as np

from tuneledger.explain.model import Running, Span
from tuneledger.explain.running import ranking
from tuneledger.explain.spans import Stretch
from tuneledger.explain.trial import Trial
from tuneledger.wording import count, listing, quantity

# Certainty grows from the one to the other as each side of a change proves itself for longer.
_LEAST, _MOST, _PROVED_S = 0.8, 0.99, 1.5
_MOST_TOLD = 3  # as many as a sentence bears
# A change that the log places within this is told as one moment.
EXACT_S = 1.0


def running_in_turn(
    trials: Sequence[Sequence[Trial]],
    stretches: Sequence[Sequence[Stretch]],
    best: int,
    files: Sequence[str],
    *,
    fits: bool,
) -> Running:
    """The running revision as spans of several; `best` is the one that ran longest.

    files: the logs' names
    fits: together, each where it ran, they account for the logs
    """
    sheets = [trial.sheet for trial in trials[0]]
    spans = tuple(
        span
        for number, (log, own) in enumerate(zip(trials, stretches, strict=True))
        for span in _spans(number, log, own)
    )
    return Running(
        supplied=sheets[0].revision,
        best=sheets[best].revision if fits else None,
        matches_supplied=False,
        certainty=_certainty(stretches) if fits else 0.5,
        ranking=ranking(trials),
        spans=spans,
        says=_says(spans, files),
    )


def _spans(number: int, trials: Sequence[Trial], stretches: Sequence[Stretch]) -> list[Span]:
    """A log's spans: each ends where the next begins."""
    times = trials[0].account.ledger.times
    starts = [0.0, *(float(times[one.first]) for one in stretches[1:])]
    ends = [*starts[1:], float(times[-1])]
    out = []
    for one, start_s, end_s in zip(stretches, starts, ends, strict=True):
        sheet = trials[one.sheet].sheet
        began = None
        if one.began is not None:
            began = (float(times[one.began[0]]), float(times[one.began[1]]))
        out.append(Span(number, start_s, end_s, sheet.revision, began, sheet.file))
    return out


def _certainty(stretches: Sequence[Sequence[Stretch]]) -> float:
    proved = [one.proof_s for log in stretches for one in log if len(log) > 1]
    least = min(proved, default=_PROVED_S)
    return round(float(_LEAST + (_MOST - _LEAST) * (1.0 - np.exp(-least / _PROVED_S))), 2)


def _says(spans: Sequence[Span], files: Sequence[str]) -> str:
    names = list(dict.fromkeys(called(span, spans) for span in spans))
    logs = [[span for span in spans if span.log == number] for number in range(len(files))]
    changing = [log for log in logs if len(log) > 1]
    if tells_when(spans, len(files)):
        return f"behaves like {_one_after_another(spans, spans)}"
    if not changing:
        told = [f"{called(log[0], spans)} in {file}" for file, log in zip(files, logs, strict=True)]
        if len(told) <= _MOST_TOLD:
            return (
                f"behaves like revision {listing([told[0], *(f'like {one}' for one in told[1:])])}"
            )
        return f"behaves like {listing(names)}, one in some logs and another in others"
    turns = sum(len(log) - 1 for log in changing)
    return f"behaves like {listing(names)} in turn, with {count(turns, 'change')} on the way"


def tells_when(spans: Sequence[Span], logs: int) -> bool:
    """Whether what is said of so many logs holds the moment of every change."""
    return logs == 1 and 1 < len(spans) <= _MOST_TOLD


def _one_after_another(own: Sequence[Span], spans: Sequence[Span]) -> str:
    """`revision D until 34.2 s, then like C`."""
    first, *later = own
    said = f"revision {called(first, spans)} until {_moment(later[0].start_s)}"
    for span, following in zip(later, [*later[1:], None], strict=True):
        said += f", then like {called(span, spans)}"
        if following is not None:
            said += f" until {_moment(following.start_s)}"
    return said


def _moment(at_s: float) -> str:
    return quantity(round(at_s, 1), "s")


def called(span: Span, spans: Sequence[Span]) -> str:
    """The revision of a span; its file where another sheet has the same name."""
    twins = {other.file for other in spans if other.revision == span.revision}
    return f"{span.revision} ({span.file})" if len(twins) > 1 else str(span.revision)


def moments(spans: Sequence[Span], files: Sequence[str]) -> list[str]:
    """A sentence per change that the log places only roughly."""
    out = []
    for span in spans:
        if span.began_s is not None and span.began_s[1] - span.began_s[0] > EXACT_S:
            where = f" in {files[span.log]}" if len(files) > 1 else ""
            out.append(
                f"the change to revision {called(span, spans)}{where} came somewhere between "
                f"{_moment(span.began_s[0])} and {_moment(span.began_s[1])}: in between the two "
                "revisions say the same"
            )
    return out
