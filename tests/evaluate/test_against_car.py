"""The vectorised evaluator against the virtual car's ECU, which goes sample by sample.

Both carry out the contract, section 2, and share no code. Random sheets, random logs with gaps,
lacking channels and uneven times; numbers and what is computable must agree.
"""

from dataclasses import dataclass

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.inputs import TableInputs
from tests.strategies import CHANNELS, SIGNALS, SWITCH, calibrations, scale
from tuneledger.arrays import FloatArray
from tuneledger.calibrations.model import Correction
from tuneledger.car.ecu import Ecu, Step
from tuneledger.evaluate.model import Contribution
from tuneledger.evaluate.replay import combine, contributions, map_advance
from tuneledger.signals import SIGNALS as VOCABULARY
from tuneledger.units import conversion

STEPS_S = (0.01, 0.05, 0.1, 0.1, 0.1, 0.25)
SHARE = "Share"  # what `logged_as` names in these sheets


@dataclass(frozen=True)
class Log:
    """Columns by name, signals in their own units, NaN where missing."""

    times: FloatArray
    columns: dict[str, FloatArray]
    scheduled: FloatArray | None

    @property
    def inputs(self) -> TableInputs:
        present = {n: c for n, c in self.columns.items() if n in SIGNALS}
        others = {n: ("", c) for n, c in self.columns.items() if n not in SIGNALS}
        return TableInputs(
            self.times, {n: (VOCABULARY[n].unit, c) for n, c in present.items()}, others
        )

    def read(self, row: int):
        """What the car's ECU reads from: one number; a quantity of another kind than asked for
        (rpm over km/h) comes in its own unit."""

        def one(kind: str, name: str, unit: str | None) -> float | None:
            if name not in self.columns:
                return None
            number = float(self.columns[name][row])
            if unit is None or kind == "channel":
                return number
            factor, offset = conversion(VOCABULARY[name].unit, unit) or (1.0, 0.0)
            return number * factor + offset

        return one


@st.composite
def logs(draw: st.DrawFn) -> Log:
    random = np.random.default_rng(draw(st.integers(0, 2**32 - 1)))
    rows = draw(st.integers(1, 30))
    times = np.round(np.cumsum([0.0, *random.choice(STEPS_S, rows - 1)]), 3)
    gaps = draw(st.sampled_from((0.0, 0.0, 0.1)))
    lacking = draw(st.sampled_from((0.0, 0.0, 0.1)))
    columns = {}
    for name, span in (SIGNALS | CHANNELS | {SHARE: (-8.0, 0.0)}).items():
        steps = [0.0, 0.3, 0.5, 1.0] if span == SWITCH else scale(span)
        column = random.choice(steps, rows)
        stays = random.random(rows) < 0.5  # so that conditions hold for more than a sample
        for row in range(1, rows):
            column[row] = column[row - 1] if stays[row] else column[row]
        column[random.random(rows) < gaps] = np.nan
        if random.random() >= lacking:
            columns[name] = column
    scheduled = random.uniform(0, 40, rows) if draw(st.booleans()) else None
    return Log(times, columns, scheduled)


@settings(max_examples=250, deadline=None)
@given(calibrations(), logs(), st.data())
def test_the_vectorised_evaluator_agrees_with_the_car_s_ecu(calibration, log, data):
    corrections = calibration.spark.correction
    ids = [c.id for c in corrections]
    also_on = data.draw(st.lists(st.sampled_from(ids), unique=True)) if ids else []
    on = {c.id for c in corrections if c.enabled} | set(also_on)

    car = Ecu(calibration, as_if_enabled=also_on)
    start = log.scheduled
    steps = [
        car.step(t, log.read(row), None if start is None else float(start[row]))
        for row, t in enumerate(log.times.tolist())
    ]

    parts = contributions(calibration, log.inputs, switched=dict.fromkeys(also_on, True))
    included = () if start is None else calibration.spark.scheduled_includes
    acting = [p for p in parts if p.correction in on and p.correction not in included]
    begin = map_advance(calibration, log.inputs)[0] if start is None else start
    replay = combine(begin, acting, calibration.spark.limits, logged=carried(corrections, log))

    same(replay.scheduled, [step.scheduled for step in steps], "scheduled")
    same(replay.delivered, [step.delivered for step in steps], "delivered")
    assert set(replay.entries) <= set(steps[0].entries)
    for name in steps[0].entries:
        mine = replay.entries.get(name, np.zeros_like(begin))  # switched off: posts nothing
        same(mine, [step.entries[name] for step in steps], name)
    for part in parts:
        if part.correction in on and calibration.spark.find(part.correction).has_numbers:
            ramped = calibration.spark.find(part.correction).ramp is not None
            same_contribution(part, steps, ramped=ramped)


def same_contribution(part: Contribution, steps: list[Step], *, ramped: bool) -> None:
    posted = [step.posted[part.correction] for step in steps]
    assert part.known.tolist() == [p.active is not None for p in posted]
    surely = part.active | (part.known & ~part.computable)
    # What ramps back from an unknown value is unknown too, though the correction acts no more.
    told = part.computable | np.full(part.computable.shape, not ramped)
    acts = np.array([p.active is True for p in posted])
    assert surely[told].tolist() == acts[told].tolist()
    if part.effect == "add":
        same(part.values, [p.value for p in posted], part.correction)
    for mine, his in ((part.values, "value"), (part.weight, "weight")):
        numbers = [getattr(p, his) for p in posted]
        same(mine[part.active], [n for n, a in zip(numbers, part.active, strict=True) if a], his)


def same(mine: FloatArray, his: list[float | None], what: str) -> None:
    numbers = np.array([np.nan if n is None else n for n in his], dtype=np.float64)
    np.testing.assert_allclose(mine, numbers, atol=1e-9, rtol=0, err_msg=what)


def carried(corrections: tuple[Correction, ...], log: Log) -> dict[str, FloatArray]:
    """The contributions that only the log knows, in degrees."""
    share = log.columns.get(SHARE)
    if share is None:
        return {}
    return {c.id: share for c in corrections if c.logged_as and not c.has_numbers}
