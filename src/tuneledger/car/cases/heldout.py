"""The other drive of a hidden-rule case, and what else the log would have allowed."""

from dataclasses import replace
from typing import Any

import numpy as np

from tuneledger.arrays import FloatArray
from tuneledger.car.cases.apart import WITHIN, Rival, Seen, right, rivals
from tuneledger.car.cases.causes import find
from tuneledger.car.cases.layout import log_of
from tuneledger.car.cases.story import Story, UnfitError
from tuneledger.car.drive import Plan, Run, drive
from tuneledger.car.logger import Logged
from tuneledger.car.rules import reads


def held_out(
    story: Story, plan: Plan, logged: Logged, run: Run
) -> tuple[dict[str, bytes], dict[str, Any]]:
    """The files of the other drive, and what the truth says of it."""
    setting = story.setting
    legs = story.other_drive or ()
    length = sum(leg.seconds for leg in legs)
    again = {key: setting.bench.spans((0.3, 0.5), length) for key in plan.switches}
    other_plan = replace(plan, legs=legs, switches=again, seed=plan.seed + 1)
    other = drive(other_plan, story.ignition())
    other_log = log_of(replace(story, damage=replace(story.damage, gaps=(), rows=0.0)), other,
                       list(logged.columns), plan.seed + 2)  # fmt: skip
    each = [_hidden(other, name, other_log) for name in story.hidden]
    hidden: FloatArray = np.sum(each, axis=0)
    if not 0.04 < np.mean(np.abs(hidden) > WITHIN) < (1.01 if story.throughout else 0.92):
        raise UnfitError("the other drive does not show the rule at work and at rest")
    lines = [f"{t:.3f},{x + 0.0:.3f}" for t, x in zip(other_log.times, hidden, strict=True)]
    table = "\n".join(["time_s,hidden_deg", *lines]) + "\n"
    files = {"heldout.csv": other_log.data, "heldout_truth.csv": table.encode()}
    about = {
        "heldout_nothing": _figures(hidden),
        "heldout_format": other_log.format,
        "unseen": story.unseen,
    }
    if story.unseen:  # no rule can be asked for, and none has rivals
        return files, about | {"identifiable": True}
    here, there = Seen(run, logged), Seen(other, other_log)
    secret = [find(story.running, name) or {} for name in story.hidden]
    told: FloatArray = np.sum(there.said(secret), axis=0)
    told = np.where(other.void[other_log.rows], 0.0, told)
    if not right(told - hidden):
        raise UnfitError("the rule does not follow from what the log holds")
    found = [
        rival
        for one, own in zip(secret, each, strict=True)
        for rival in rivals(one, here, there, own, setting.spark_step)
    ]
    read = {name for one in secret for name in reads(one, list(logged.columns))}
    return files, about | {
        "rule_reads": sorted(read),
        "rivals": sorted({r.channel for r in found if r.channel not in read}),
        "identifiable": all(r.right for r in found),
        "not_told_apart": sorted({_told(r) for r in found if not r.right}),
        "heldout_true_rule": _figures(told - hidden),
    }


def _told(rival: Rival) -> str:
    return f"{rival.says}: {rival.channel}"


def _hidden(run: Run, name: str, logged: Logged) -> FloatArray:
    return np.where(run.void[logged.rows], 0.0, run.entries[name][logged.rows])


def _figures(off: FloatArray) -> list[float]:
    rms = float(np.sqrt(np.mean(off**2)))
    return [round(rms, 4), round(float(np.mean(np.abs(off) <= WITHIN)), 4)]
