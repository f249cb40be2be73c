"""The episodes summed up by regime: two hundred idle stretches are one line of a statement.

An episode that goes through several regimes counts in each with what lies there.
"""

import math
from collections.abc import Iterable

from tuneledger.ledger.model import Part
from tuneledger.record import record
from tuneledger.statement.model import Statement


@record
class Account:
    """What of the episodes lies in one regime, taken together.

    episodes: how many were there, wholly or in part
    Degrees are means weighted by time, NaN where not known; `degree_seconds` is the sum of
    |difference| × time, in which an up and a down do not cancel.
    """

    regime: str
    about: str
    expected: bool
    episodes: int
    seconds: float
    scheduled_deg: float
    delivered_deg: float
    difference_deg: float
    unaccounted_deg: float
    degree_seconds: float

    @property
    def named(self) -> str:
        name = self.regime if self.about == "delivery" else f"{self.regime}, map"
        return f"{name}, expected" if self.expected else name


def accounts(statement: Statement) -> list[Account]:
    """The episodes summed up by regime: what is not expected first, then by degrees × seconds.

    Where delivered stands above scheduled under load, load comes before all: the headline speaks of
    it, and a short paper shows the first rows only.
    """
    groups: dict[tuple[str, str, bool], list[tuple[Part, float]]] = {}
    spans: dict[tuple[str, str, bool], list[tuple[int, float, float]]] = {}
    steps = [_step(account.log.rate_hz) for account in statement.logs]
    for episode in statement.episodes:
        lasts = episode.end_s - episode.start_s + steps[episode.log]  # the last sample lasts too
        for part in episode.by_regime:
            key = (part.regime, episode.about, episode.expected)
            groups.setdefault(key, []).append((part, part.share * lasts))
            span = (episode.log, episode.start_s, episode.start_s + lasts)
            spans.setdefault(key, []).append(span)
    out = [_account(key, group, _once(spans[key])) for key, group in groups.items()]
    raised = statement.raised_under_load
    return sorted(
        out, key=lambda a: (not (raised and a.regime == "load"), a.expected, -a.degree_seconds)
    )


def _once(spans: list[tuple[int, float, float]]) -> float:
    """Which share of the spans is left where each moment of a log counts once: a correction that
    stayed silent has stretches of its own, in the midst of others."""
    total, last = 0.0, (-1, 0.0)
    for log, start, end in sorted(spans):
        begun = max(start, last[1]) if log == last[0] else start
        total += max(0.0, end - begun)
        last = (log, max(end, last[1]) if log == last[0] else end)
    summed = sum(end - start for _, start, end in spans)
    return total / summed if summed > 0 else 1.0


def _account(key: tuple[str, str, bool], group: list[tuple[Part, float]], once: float) -> Account:
    lengths = [length * once for _, length in group]

    def mean(values: Iterable[float]) -> float:
        known = [(v, w) for v, w in zip(values, lengths, strict=True) if math.isfinite(v)]
        total = sum(w for _, w in known)
        return sum(v * w for v, w in known) / total if total else math.nan

    return Account(
        *key,
        episodes=len(group),
        seconds=sum(lengths),
        scheduled_deg=mean(part.scheduled_deg for part, _ in group),
        delivered_deg=mean(part.delivered_deg for part, _ in group),
        difference_deg=mean(part.difference_deg for part, _ in group),
        unaccounted_deg=mean(part.unaccounted_deg for part, _ in group),
        degree_seconds=sum(
            abs(part.difference_deg) * length * once
            for part, length in group
            if math.isfinite(part.difference_deg)
        ),
    )


def _step(rate_hz: float) -> float:
    return 1 / rate_hz if rate_hz > 0 else 0.0
