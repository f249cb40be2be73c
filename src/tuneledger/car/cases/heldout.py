"""The other drive of a hidden-rule case, and which channels would have said the same."""

from dataclasses import replace
from typing import Any

import numpy as np

from tuneledger.arrays import BoolArray, FloatArray
from tuneledger.car.cases.books import Books
from tuneledger.car.cases.causes import find
from tuneledger.car.cases.following import from_the_log
from tuneledger.car.cases.layout import log_of
from tuneledger.car.cases.story import Story, UnfitError
from tuneledger.car.dress import SPARK
from tuneledger.car.drive import Plan, Run, drive
from tuneledger.car.logger import Logged, sampled
from tuneledger.car.rules import reads

RMS, WITHIN, SHARE = 0.5, 0.3, 0.95  # by which a reported rule counts as right


def held_out(
    story: Story, plan: Plan, logged: Logged, run: Run, books: Books
) -> tuple[dict[str, bytes], dict[str, Any]]:
    """The files of the other drive, and what the truth says of it."""
    setting, (name, *_) = story.setting, story.hidden
    legs = story.other_drive or ()
    length = sum(leg.seconds for leg in legs)
    again = {key: setting.bench.spans((0.3, 0.5), length) for key in plan.switches}
    other_plan = replace(plan, legs=legs, switches=again, seed=plan.seed + 1)
    other = drive(other_plan, story.ignition())
    other_log = log_of(replace(story, damage=replace(story.damage, gaps=(), rows=0.0)), other,
                       list(logged.columns), plan.seed + 2)  # fmt: skip
    hidden = _hidden(other, name, other_log)
    if not 0.04 < np.mean(np.abs(hidden) > WITHIN) < 0.92:
        raise UnfitError("the other drive does not show the rule at work and at rest")
    told = _said_by(story, other, other_log, name)
    if not _right(told - hidden):
        raise UnfitError("the rule does not follow from what the log holds")
    rivals, ok = _rivals(story, logged, run, books.entries[name], other, other_log, hidden)
    lines = [f"{t:.3f},{x + 0.0:.3f}" for t, x in zip(other_log.times, hidden, strict=True)]
    table = "\n".join(["time_s,hidden_deg", *lines]) + "\n"
    correction = find(story.running, name) or {}
    return (
        {"heldout.csv": other_log.data, "heldout_truth.csv": table.encode()},
        {
            "rule_reads": reads(correction, list(logged.columns)),
            "rivals": rivals,
            "identifiable": ok,
            "heldout_true_rule": _figures(told - hidden),
            "heldout_nothing": _figures(hidden),
            "heldout_format": other_log.format,
        },
    )


def _hidden(run: Run, name: str, logged: Logged) -> FloatArray:
    return np.where(run.void[logged.rows], 0.0, run.entries[name][logged.rows])


def _figures(off: FloatArray) -> list[float]:
    rms = float(np.sqrt(np.mean(off**2)))
    return [round(rms, 4), round(float(np.mean(np.abs(off) <= WITHIN)), 4)]


def _right(off: FloatArray) -> bool:
    rms, share = _figures(off)
    return rms <= RMS or share >= SHARE


def _said_by(story: Story, run: Run, logged: Logged, name: str) -> FloatArray:
    """The hidden correction by itself, carried out on nothing but the numbers in the log."""
    alone = {"map": {"amount": 0.0}, "correction": [find(story.running, name)]}
    entry = from_the_log({"revision": "-", "spark": alone}, run, logged)[name]
    return np.nan_to_num(entry)


def _rivals(
    story: Story, logged: Logged, run: Run, entry: FloatArray, other: Run, other_log: Logged,
    hidden: FloatArray,
) -> tuple[list[str], bool]:  # fmt: skip
    """Channels whose single threshold acts on this log just where the rule does; and whether none
    of them fails on the other drive."""
    acts = np.abs(entry) > WITHIN
    amount = float(entry[acts].mean())
    correction = find(story.running, story.hidden[0]) or {}
    own = {
        *reads(correction, list(logged.columns)),
        *(c.name for c in logged.columns if c.key in SPARK),
    }
    rivals, fails = [], False
    for c in logged.columns:
        if c.name in own or c.key == "time":
            continue
        here = sampled(run, c, logged.dress, logged.rows)
        stump = best_threshold(here, acts)
        if stump is None:
            continue
        rivals.append(c.name)
        there = sampled(other, c, other_log.dress, other_log.rows)
        said = np.where((there > stump[0]) == stump[1], amount, 0.0)
        fails |= not _right(said - hidden)
    return rivals, not fails


def best_threshold(
    values: FloatArray, acts: BoolArray, wrong: float = 0.005
) -> tuple[float, bool] | None:
    """A threshold with at most that share of samples on the wrong side, and whether above acts."""
    on, off = values[acts], values[~acts]
    if on.size == 0 or off.size == 0:
        return None
    for above in (True, False):
        a, b = (on, off) if above else (-on, -off)
        cut = (np.quantile(a, 0.01) + np.quantile(b, 0.99)) / 2
        if np.mean(np.concatenate([a <= cut, b > cut])) <= wrong:
            return float(cut if above else -cut), above
    return None
