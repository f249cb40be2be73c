"""The first three witnesses heard together: words, labels, values."""

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from tuneledger.arrays import FloatArray
from tuneledger.logs.model import Log
from tuneledger.record import record
from tuneledger.roles import labels, narrow, values, words
from tuneledger.roles.again import counted_again
from tuneledger.roles.facts import Facts
from tuneledger.roles.folded import Fold
from tuneledger.roles.model import Wanting
from tuneledger.roles.names import Name, in_company
from tuneledger.roles.settle import settle
from tuneledger.roles.values import House, Reading
from tuneledger.signals import SIGNALS

SOUGHT: tuple[str, ...] = tuple(name for name in SIGNALS if name != "time")

# How likely each signal is to be in a log of a tuner's at all. Judgement.
PRESENT: dict[str, float] = {
    "engine speed": 0.98,
    "delivered advance": 0.93,
    "scheduled advance": 0.75,
    "throttle position": 0.92,
    "manifold absolute pressure": 0.8,
    "engine coolant temperature": 0.9,
    "intake air temperature": 0.88,
    "module voltage": 0.85,
    "vehicle speed": 0.85,
    "measured lambda": 0.80,
    "engine load": 0.75,
    "accelerator position": 0.75,
    "oil temperature": 0.70,
    "oil pressure": 0.70,
    "barometric pressure": 0.65,
    "commanded lambda": 0.65,
    "gear": 0.70,
    "fuel pressure": 0.60,
    "knock level": 0.55,
    "idle speed target": 0.55,
    "fuel temperature": 0.45,
    "ethanol content": 0.30,
}

_FEWEST = 20  # numbers of which relations can be seen
_BY_WORD = 60.0
_FULL_TRUST = 12.0  # names that told the truth, to begin with
_LITTLE = 0.3
_STRONG = 4.0
_NOT_THAT = -6.0
_UNKNOWN = -1.5
_PLAIN, _LESS_PLAIN, _MEANS_ANOTHER = 5.5, 2.5, 1.5


@record
class Crossed:
    """Two channels that run as if each had the other's name; `says` that in words."""

    coolant: int
    air: int
    says: str

    @property
    def as_named(self) -> tuple[int, int]:
        return self.coolant, self.air

    @property
    def as_they_run(self) -> tuple[int, int]:
        return self.air, self.coolant


@dataclass(eq=False)
class Evidence:
    """What is known of a log's channels so far, channel by channel (rows) and signal (columns).

    weights:  log-odds, all witnesses together; relations add to them
    named, labelled, judged: what words, labels and values alone contributed
    readings: in what unit, scale and sign the values would be read
    twin:     log-odds per channel of being like a signal without being it (one cylinder's advance)
    reasons:  what relations had to say, strongest last
    notes:    what must not go unsaid
    crossed:  coolant and intake air, where they run as if each had the other's name
    parts:    channels that look like what is taken from an advance, and what they look like
    wanting:  signals that a reading had to assume, and for what
    either:   channels that may be either of the two advances, for all that their names say
    slipped:  channels that a sheet shows not to count in degrees of the crank
    folds:    channels that went round their byte, and how
    perhaps_round: that delivered may have, where nothing settles it
    names:    channel names, told apart from the words that they share
    trust:    how far this log's names can be trusted, 0 to 1
    """

    log: Log
    facts: list[Facts]
    named: FloatArray
    labelled: FloatArray
    judged: FloatArray
    weights: FloatArray
    readings: dict[tuple[int, str], Reading]
    house: House
    names: Sequence[Name]
    trust: float
    understood: float
    twin: FloatArray = field(default_factory=lambda: np.zeros(0))
    reasons: dict[tuple[int, str], list[str]] = field(default_factory=dict)
    notes: list[str] = field(default_factory=list)
    wanting: list[Wanting] = field(default_factory=list)
    crossed: Crossed | None = None
    parts: dict[int, str] = field(default_factory=dict)
    either: set[int] = field(default_factory=set)
    slipped: set[int] = field(default_factory=set)
    folds: dict[int, Fold] = field(default_factory=dict)
    perhaps_round: list[str] = field(default_factory=list)
    _settled: FloatArray | None = None
    _stock: FloatArray = field(default_factory=lambda: np.zeros((0, 0)))

    def __post_init__(self) -> None:
        self.twin = np.full(len(self.facts), -30.0)
        self.take_stock()

    def certainties(self) -> FloatArray:
        """Probability that channel i is signal j, on all that has been heard."""
        if self._settled is None:
            present = np.array([PRESENT[s] for s in SOUGHT])
            self._settled = settle(self.weights, present, self.twin)
        return self._settled

    def take_stock(self) -> None:
        """Settle what has been heard, for `candidates` to go by until the next time."""
        self._stock = self.certainties()

    def candidates(self, signal: str, *, least: float = 0.02, most: int = 5) -> list[int]:
        """Channels with numbers enough that may be a signal, the likeliest first."""
        odds = self._stock[:, SOUGHT.index(signal)]
        order = np.argsort(-odds)[:most]
        return [int(i) for i in order if odds[i] >= least and self.facts[i].count >= _FEWEST]

    def likelihood(self, channel: int, signal: str) -> float:
        """Probability that a channel is a signal, when stock was last taken."""
        return float(self._stock[channel, SOUGHT.index(signal)])

    def add(self, channel: int, signal: str, weight: float, reason: str | None = None) -> None:
        """Evidence of a relation, for or against."""
        self.weights[channel, SOUGHT.index(signal)] += weight
        self._settled = None
        if reason:
            self.reasons.setdefault((channel, signal), []).append(reason)

    def forget_settled(self) -> None:
        """What was settled no longer holds."""
        self._settled = None

    def set_twin(self, channel: int, weight: float) -> None:
        """Say how much a channel is like a signal without being it."""
        self.twin[channel] = weight
        self._settled = None

    def give_away(self, channel: int, signal: str) -> None:
        """Give a signal to a channel by somebody's word, whatever the evidence."""
        j = SOUGHT.index(signal)
        mine = self.weights[channel] < _BY_WORD  # another signal may be the same channel's
        self.weights[channel, mine] = -_BY_WORD
        self.weights[:, j] = -_BY_WORD
        self.weights[channel, j] = _BY_WORD
        self._settled = None


def hear(log: Log, facts: list[Facts], house: House) -> Evidence:
    """Words, labels and values of every channel, for every signal."""
    names = in_company([f.channel.name for f in facts])
    said = [words.read_name(name.own, name.around) for name in names]
    by_label = labels.weigh(facts, SOUGHT)
    judged = values.judge(facts, SOUGHT, house)
    trust = _trust(said, by_label + judged.weights)
    understood = sum(s is not None for s in said) / max(1, len(said))
    by_words = _words(said, trust, understood) - counted_again(log, facts)[:, np.newaxis]
    judged = narrow.allow(facts, SOUGHT, by_words, judged, house)
    return Evidence(
        log=log,
        facts=facts,
        named=by_words,
        labelled=by_label,
        judged=judged.weights,
        weights=by_words + by_label + judged.weights,
        readings=judged.readings,
        house=house,
        names=names,
        trust=trust,
        understood=understood,
    )


def look_again(evidence: Evidence, house: House) -> None:
    """Judge the values anew under another house style; nothing else has been heard since."""
    judged = values.judge(evidence.facts, SOUGHT, house)
    judged = narrow.allow(evidence.facts, SOUGHT, evidence.named, judged, house)
    evidence.weights = evidence.named + evidence.labelled + judged.weights
    evidence.judged, evidence.readings, evidence.house = judged.weights, judged.readings, house
    evidence.forget_settled()
    evidence.take_stock()


def _words(
    said: Sequence[dict[str, words.Said] | None], trust: float, understood: float
) -> FloatArray:
    out = np.full((len(said), len(SOUGHT)), _UNKNOWN * understood)
    for i, name in enumerate(said):
        if name is not None:
            out[i] = [words.trusted(name[signal].weight, trust) for signal in SOUGHT]
    # Where one name says it plainly, those that add something (a second, a target) mean just that.
    plain = out.max(axis=0, initial=_UNKNOWN)
    qualified = (plain >= _PLAIN) & (out > _UNKNOWN) & (out < plain - _LESS_PLAIN)
    return np.where(qualified, out - _MEANS_ANOTHER, out)


def _trust(said: Sequence[dict[str, words.Said] | None], rest: FloatArray) -> float:
    """How far the names can be trusted: those that say a signal clearly are held to the rest."""
    right, wrong = _FULL_TRUST, _LITTLE
    for i, name in enumerate(said):
        if name is None:
            continue
        best = max(SOUGHT, key=lambda s: name[s].weight)
        if name[best].weight >= _STRONG:
            if rest[i, SOUGHT.index(best)] < _NOT_THAT:
                wrong += 1
            else:
                right += 1
    return right / (right + wrong)
