"""The episodes summed up by regime: two hundred idle stretches are one line of a statement."""

import math
from collections.abc import Iterable
from dataclasses import dataclass

from tuneledger.ledger.model import Episode
from tuneledger.statement.model import Statement


@dataclass(frozen=True, slots=True)
class Account:
    """Episodes of one regime taken together.

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
    """The episodes summed up by regime: what is not expected first, then by degrees × seconds."""
    groups: dict[tuple[str, str, bool], list[Episode]] = {}
    for episode in statement.episodes:
        key = (episode.regime, episode.about, episode.expected)
        groups.setdefault(key, []).append(episode)
    steps = [_step(account.log.rate_hz) for account in statement.logs]
    out = [_account(key, group, steps) for key, group in groups.items()]
    return sorted(out, key=lambda a: (a.expected, -a.degree_seconds))


def _account(key: tuple[str, str, bool], group: list[Episode], steps: list[float]) -> Account:
    lengths = [e.end_s - e.start_s + steps[e.log] for e in group]  # the last sample lasts too

    def mean(values: Iterable[float]) -> float:
        known = [(v, w) for v, w in zip(values, lengths, strict=True) if math.isfinite(v)]
        total = sum(w for _, w in known)
        return sum(v * w for v, w in known) / total if total else math.nan

    return Account(
        *key,
        episodes=len(group),
        seconds=sum(lengths),
        scheduled_deg=mean(e.scheduled_deg for e in group),
        delivered_deg=mean(e.delivered_deg for e in group),
        difference_deg=mean(e.difference_deg for e in group),
        unaccounted_deg=mean(e.unaccounted_deg for e in group),
        degree_seconds=sum(
            abs(e.difference_deg) * length
            for e, length in zip(group, lengths, strict=True)
            if math.isfinite(e.difference_deg)
        ),
    )


def _step(rate_hz: float) -> float:
    return 1 / rate_hz if rate_hz > 0 else 0.0
