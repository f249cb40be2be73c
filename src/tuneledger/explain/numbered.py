"""Rules in no file bear numbers in the order of their causes.

While a log is explained they are numbered as they are found. Whoever reads of "rule 2" on the first
line takes the number for a rank.
"""

import re
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import TypeVar

from tuneledger.explain.experiments.model import Experiment
from tuneledger.explain.model import Cause
from tuneledger.ledger.model import Entry, Episode, EpisodeEntry, Ledger

_RULE = re.compile(r"rule-\d+")
_Posted = TypeVar("_Posted", Entry, EpisodeEntry)


def new_names(causes: Sequence[Cause], ledgers: Sequence[Ledger]) -> dict[str, str]:
    """Entry of a rule → what it is called from now on: those of causes first, by rank; empty where
    they are in order."""
    entries = [
        *(cause.entry for cause in causes),
        *(entry.correction for ledger in ledgers for entry in ledger.entries),
    ]
    rules = dict.fromkeys(name for name in entries if name and _RULE.fullmatch(name))
    names = {name: f"rule-{number}" for number, name in enumerate(rules, start=1)}
    return {} if all(old == new for old, new in names.items()) else names


def renamed_cause(cause: Cause, names: Mapping[str, str]) -> Cause:
    """The cause with its entry under its new name, where it has one."""
    return replace(cause, entry=names.get(cause.entry or "", cause.entry))


def renamed_ledger(ledger: Ledger, names: Mapping[str, str]) -> Ledger:
    """The ledger with its entries under their new names."""
    return replace(ledger, entries=_renamed(ledger.entries, names)) if names else ledger


def renamed_episode(episode: Episode, names: Mapping[str, str]) -> Episode:
    """The episode with its entries under their new names."""
    return replace(episode, entries=_renamed(episode.entries, names))


def renamed_experiment(one: Experiment, names: Mapping[str, str]) -> Experiment:
    """The experiment, about its cause under the new name."""
    return replace(one, cause=names.get(one.cause or "", one.cause))


def _renamed(entries: Sequence[_Posted], names: Mapping[str, str]) -> tuple[_Posted, ...]:
    return tuple(replace(e, correction=names.get(e.correction, e.correction)) for e in entries)
