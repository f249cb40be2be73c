"""A channel that the log lacks, and how fast it has to be logged to settle a suspicion."""

from collections.abc import Iterator, Sequence

import numpy as np

from tuneledger.explain.experiments.model import Experiment
from tuneledger.explain.finding import Finding
from tuneledger.explain.leftover.model import Extra
from tuneledger.explain.misnamed import to_state
from tuneledger.explain.model import Cause
from tuneledger.ledger.book import Book
from tuneledger.ledger.episodes import true_runs
from tuneledger.wording import listing, visible

# Samples that a stretch needs for its beginning and its end to be seen: common practice, no source.
_SAMPLES = 10.0
_RATES_HZ = (10, 20, 50)  # as loggers usually offer: common practice, no source


def to_be_logged(findings: Sequence[Finding], cause: Cause) -> Iterator[Experiment]:
    """`Log Oil pressure at 20 Hz on the next run.`, where a suspicion hangs on what is missing."""
    found = [
        (finding.book, extra)
        for finding in findings
        for extra in finding.extras
        if extra.needs and extra.correction == cause.correction and cause.entry is None
    ]
    if not found:
        return
    also = {name for _, extra in found for name in extra.rivals}
    rivals = [e for finding in findings for e in finding.extras if e.correction in also and e.needs]
    asked = [extra.needs for extra in (*(extra for _, extra in found), *rivals)]
    names = dict.fromkeys(visible(need.what) for needs in asked for need in needs)
    hz = max(_rate(book, extra) for book, extra in found)
    stated = to_state([*names], found[0][0].roles)
    yield Experiment(
        sentence=stated or f"Log {listing(names)} at {hz} Hz on the next run.",
        tells=f"whether '{visible(cause.correction or '')}' acted",
        bits=round(_doubt(cause.certainty), 2),
        cause=cause.correction,
    )


def _rate(book: Book, extra: Extra) -> int:
    """A usual rate at which the shortest stretch gets samples enough."""
    runs = true_runs(extra.rows)
    shortest = min((b - a + 1 for a, b in runs), default=1) * book.row_s
    wanted = _SAMPLES / shortest if shortest > 0 else _RATES_HZ[-1]
    return next((hz for hz in _RATES_HZ if hz >= wanted), _RATES_HZ[-1])


def _doubt(certainty: float) -> float:
    """Bits of doubt in a yes or no."""
    sure = float(np.clip(certainty, 1e-6, 1.0 - 1e-6))
    return float(-sure * np.log2(sure) - (1.0 - sure) * np.log2(1.0 - sure))
