"""How a story's log is laid out: which columns, in which order, and the drive that fills them."""

from dataclasses import replace

import numpy as np

from tuneledger.calibrations.model import readings
from tuneledger.car import distractors
from tuneledger.car.cases.setting import ALWAYS, OFTEN, SWITCHES, Setting, extras
from tuneledger.car.cases.story import Story
from tuneledger.car.dress import DECIMALS, SPARK, Column, column_for, own_unit
from tuneledger.car.drive import DT, Plan, Run
from tuneledger.car.logger import Logged, write_log
from tuneledger.car.sheets import calibration
from tuneledger.signals import SIGNALS


def lay_out(story: Story) -> list[Column]:
    """Which columns the log has, in which order."""
    setting, rng = story.setting, story.setting.rng
    keys = {*SPARK, *ALWAYS, *story.also, *story.shares} | sheet_keys(story)
    keys |= {k for k in OFTEN if rng.random() < 0.75}
    keys |= {k for k in SWITCHES if setting.bench.switches.get(k) or rng.random() < 0.4}
    keys -= {*story.absent}
    if not story.few_channels:
        keys |= set(extras(rng)) - {*story.absent}
    order = [str(k) for k in rng.permutation(sorted(keys))]
    _twins(setting, order)
    columns = [
        column_for(k, setting.names[k], setting.dress, rng, setting.spark_step) for k in order
    ]
    for i, c in enumerate(columns):
        if c.key in story.slow:
            every, between = story.slow[c.key]
            columns[i] = replace(c, every=every, between=between)
        elif c.key in story.relabel:
            unit, label = story.relabel[c.key]
            columns[i] = replace(c, unit=unit, label=label, decimals=DECIMALS[unit])
        elif rng.random() < 0.1 and c.key not in (*SPARK, "engine speed", *sheet_keys(story)):
            columns[i] = replace(
                c, every=int(rng.choice([2, 5, 10])), between=str(rng.choice(["hold", "blank"]))
            )
    unit = {"s": "s", "ms": "ms", "clock": ""}[setting.dress.time_as]
    time = Column("time", setting.names["time"], unit, unit, 0.001, 3)
    columns.insert(0 if rng.random() < 0.9 else int(rng.integers(len(columns))), time)
    return columns


def _twins(setting: Setting, order: list[str]) -> None:
    """Now and then a logger gives two channels one name."""
    pairs = (("exhaust 1", "exhaust 2"), ("knock 1", "knock 2"), ("tyre fl", "tyre rr"))
    a, b = pairs[int(setting.rng.integers(len(pairs)))]
    if a in order and b in order and setting.rng.random() < 0.3:
        setting.names[b] = setting.names[a]


def sheet_keys(story: Story) -> set[str]:
    """The quantities that any of the sheets reads."""
    by_name = {name: key for key, name in story.setting.names.items()}
    keys: set[str] = set()
    for sheet in (story.running, *(s for _, s in story.sheets)):
        spark = calibration(sheet).spark
        for r in readings(spark):
            for name in (r.signal, r.channel, r.minus, r.over):
                if name is not None:
                    keys.add(name if name in SIGNALS else by_name[name])
        keys |= {by_name[c.logged_as] for c in spark.correction if c.logged_as}
    return keys


def planned(story: Story, columns: list[Column]) -> Plan:
    """The drive of a story, with every channel that its sheets name tied to what stands behind
    it."""
    setting = story.setting
    sources = {c.name: (c.key, own_unit(c.key), c.unit) for c in columns if c.key != "time"}
    for key in sheet_keys(story) - {c.key for c in columns}:
        sources[setting.names[key]] = (key, own_unit(key), own_unit(key))
    return replace(
        setting.plan,
        switches=dict(setting.bench.switches),
        channels=sources,
        tick=2 if round(1.0 / setting.dress.rate_hz / DT) % 2 == 0 else 1,
        seed=int(setting.rng.integers(2**31)),
        **story.plan,
    )


def log_of(story: Story, run: Run, columns: list[Column], seed: int) -> Logged:
    """The log of a run, with the shares and distractors that its columns ask for."""
    for key, (ids, sign) in story.shares.items():
        if key not in run.columns:
            total = sum((run.entries[name] for name in ids), np.zeros(run.times.size))
            run.columns[key] = np.where(run.void, 0.0, sign * total)
    distractors.add(run, [c.key for c in columns if c.key in distractors.DISTRACTORS], seed)
    return write_log(run, columns, story.setting.dress, seed, story.damage)
