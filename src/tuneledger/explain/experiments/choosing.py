"""The setting after which the least doubt is to be expected, and perhaps a second one."""

from collections.abc import Callable, Sequence

import numpy as np

from tuneledger.arrays import FloatArray, IntArray
from tuneledger.explain.experiments.controls import Option
from tuneledger.explain.experiments.purpose import armed
from tuneledger.explain.experiments.stretches import IDLE, Stretches, mild_rows
from tuneledger.ledger.book import Book
from tuneledger.record import record
from tuneledger.wording import listing, visible

# What each explanation would post in each stretch: degrees, NaN where it cannot be said.
Predict = Callable[[Stretches], list[FloatArray]]

WORTHWHILE = 0.25  # bits; less than this is not worth another drive
_MOST_SETTINGS = 3  # as many as a driver can hold in one run, judgement
_KEPT = 5  # of the best at each step are taken further: judgement
_IDLE_PRICE = 0.05  # the governor works there as well
_PLAIN_DEG = 1.0  # a difference that a log shows beyond doubt


@record(eq=False)
class Choice:
    """A setting at light throttle or idle; `bits` that it is expected to bring.

    said: per explanation (rows) and outcome, how likely that outcome is
    """

    mode: str
    setting: tuple[Option, ...]
    bits: float
    worth: float
    said: FloatArray

    def sentence(self, beside: str = "", *, again: bool = False) -> str:
        """`Next log: light throttle, Wet switch on, and watch Fan.`

        beside: what is said of the switches that nobody turns, from its comma on
        """
        asked = ", ".join((self.mode, *(option.says for option in self.setting)))
        return f"{'Then' if again else 'Next log'}: {asked}{beside}."


def beside(choice: Choice, offered: Sequence[Option], alone: Sequence[str]) -> str:
    """The switches that are read besides: what is armed for full load is off, and nobody turns the
    rest, they are watched."""
    turned = {option.channel for option in choice.setting}
    others = dict.fromkeys(o.channel for o in offered if o.switch and o.channel not in turned)
    off = "".join(f", {visible(name)} off" for name in alone if armed(name))
    watched = [*others, *(name for name in alone if not armed(name))]
    return f"{off}, and watch {listing(map(visible, watched))}" if watched else off


def best_choices(
    book: Book,
    offered: Sequence[Option],
    predict: Predict,
    prior: FloatArray,
    alone: Sequence[str] = (),
) -> list[Choice]:
    """The best setting, and a second one where it settles much of what the first leaves open.

    offered: the ways to set channels; prior: how likely each explanation is, summing to 1
    alone: switches that nobody is asked to turn: they are off, and said to be watched
    Empty where nothing that may be asked for would tell.
    """
    tried: list[Choice] = []
    for mode, rows in mild_rows(book, alone).items():
        if rows.size:
            here = [option for option in offered if mode != IDLE or not option.moving]
            tried += _searched(book, mode, rows, here, predict, prior)
    tried = [choice for choice in tried if choice.bits >= WORTHWHILE]
    if not tried:
        return []
    first = max(tried, key=lambda c: c.worth)
    others = [c for c in tried if c.setting != first.setting]
    if not others:
        return [first]
    more = [(_joint(first, c, prior) - first.bits, c) for c in others]
    gain, second = max(more, key=lambda m: m[0] - 0.05 * len(m[1].setting))
    return [first, second] if gain >= WORTHWHILE else [first]


def _searched(
    book: Book,
    mode: str,
    rows: IntArray,
    offered: Sequence[Option],
    predict: Predict,
    prior: FloatArray,
) -> list[Choice]:
    """Settings of one to three channels, each longer one grown from the best shorter ones."""
    out: list[Choice] = []
    grown: list[tuple[Option, ...]] = [()]
    for _ in range(_MOST_SETTINGS):
        longer = {
            tuple(sorted((*setting, option), key=lambda o: (o.channel, o.value, o.fresh)))
            for setting in grown
            for option in offered
            if _goes_with(option, setting)
        }
        if not longer:
            break
        settings = sorted(longer, key=lambda s: [(o.channel, o.value, o.fresh) for o in s])
        judged = _judged(book, mode, rows, settings, predict, prior)
        out += judged
        grown = [c.setting for c in sorted(judged, key=lambda c: -c.worth)[:_KEPT]]
    return out


def _goes_with(option: Option, setting: Sequence[Option]) -> bool:
    """Whether one thing more may be asked for: one switch at most, and no cold engine driven."""
    return all(
        option.channel != one.channel
        and not (option.switch and one.switch)
        and not (option.cold and one.moving)
        and not (option.moving and one.cold)
        for one in setting
    )


def _judged(
    book: Book,
    mode: str,
    rows: IntArray,
    settings: Sequence[tuple[Option, ...]],
    predict: Predict,
    prior: FloatArray,
) -> list[Choice]:
    stretches = Stretches(book, rows, settings)
    width = max(_PLAIN_DEG, 2.0 * book.tolerance)
    posted = np.stack([stretches.looked_at(values) for values in predict(stretches)])
    labels = np.where(np.isfinite(posted), np.round(posted / width), np.inf)
    out = []
    for i, setting in enumerate(settings):
        said = _shares(labels[:, i, :])
        bits = information(said, prior)
        price = sum(option.price for option in setting) + (_IDLE_PRICE if mode == IDLE else 0.0)
        out.append(Choice(mode, setting, bits, bits - price, said))
    return out


def _shares(labels: FloatArray) -> FloatArray:
    """How often each explanation gives each outcome: explanations × outcomes, rows sum to 1."""
    outcomes = np.unique(labels)
    counted = (labels[:, :, None] == outcomes[None, None, :]).mean(axis=1)
    return np.asarray(counted, dtype=np.float64)


def information(said: FloatArray, prior: FloatArray) -> float:
    """Bits by which the outcome is expected to lessen the doubt about the explanation.

    The mutual information of explanation and outcome: the entropy of the outcome, less the
    entropy that it has where the explanation is known.
    """
    mixed = prior @ said
    return float(_entropy(mixed) - (prior * np.array([_entropy(row) for row in said])).sum())


def _joint(one: Choice, other: Choice, prior: FloatArray) -> float:
    """Bits that both bring together, each being driven by itself."""
    both = (one.said[:, :, None] * other.said[:, None, :]).reshape(prior.size, -1)
    return information(both, prior)


def _entropy(shares: FloatArray) -> float:
    known = shares[shares > 0]
    return float(-(known * np.log2(known)).sum())
