"""Drives before and after a change that several tests hold against each other."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from tests.explain.parts import (
    AT,
    DEG,
    switched,
)
from tests.explain.told import told
from tests.runs import Run, along, charge_air, sheet
from tuneledger.change.proof import Proof, Proven
from tuneledger.change.prove import prove_statements
from tuneledger.statement.model import SuppliedSheet

AIR = "intake air temperature"


HOT = sheet("rev-d.toml", "D", [charge_air(DEG)])


LEVER = sheet("rev-d.toml", "D", [switched("lever", -4.0)])


def hot(run: Run, degrees: Sequence[float] = DEG) -> Run:
    return run.post("charge-air", along(run, AIR, AT, degrees))


def cut(run: Run, *spans: tuple[float, float]) -> Run:
    """The run without these seconds of it."""
    keep = np.ones(run.times.shape, dtype=bool)
    for start, end in spans:
        keep &= ~((run.times >= start) & (run.times < end))
    return replace(
        run,
        times=run.times[keep],
        signals={name: values[keep] for name, values in run.signals.items()},
        scheduled=run.scheduled[keep],
        regime=tuple(np.array(run.regime)[keep]),
        entries=tuple(replace(e, values=e.values[keep]) for e in run.entries),
        extra={name: values[keep] for name, values in run.extra.items()},
    )


def proof(before: Run, after: Run, *sheets: SuppliedSheet) -> Proof:
    return prove_statements(told(before, *sheets), told(after, *sheets))


def of(made: Proof, correction: str) -> Proven:
    return next(p for p in made.causes if p.cause.correction == correction)
