"""How finely a log has each number that sheets read: found out once, for all sheets and questions.

Steps and noise take a sort or a median over the whole log; a dozen questions ask for those of the
same few channels.
"""

from collections.abc import Callable
from functools import cached_property

import numpy as np

from tuneledger.arrays import FloatArray, IntArray
from tuneledger.calibrations.model import Axis, Reading, Table
from tuneledger.evaluate.lookup import sway
from tuneledger.evaluate.model import Inputs
from tuneledger.evaluate.readings import read
from tuneledger.explain.doubt import noise
from tuneledger.logs.facts import quantisation_step
from tuneledger.logs.samples import Between, Samples, find_samples, neighbours

# Noise is averaged over the longest of these in which the channel does nothing but make noise.
_CALM_S = (16.0, 8.0, 4.0, 2.0, 1.0)
_FEWEST_ROWS = 5  # fewer do not tell a course from its noise
_ONLY_NOISE = 1.1
_LOOKED_AT = 10_000  # rows, evenly spread
# Noise this small beside the step is the rounding itself.
NOISY = 0.3
# Turns a median of absolute values into a spread.
_SPREAD_OF_MEDIAN = 1.4826
# Gears, modes and flags are counts: known exactly.
_MOST_COUNTED = 15


class Grain:
    """What is known of how finely a log has its numbers; grows as questions are asked."""

    def __init__(self, inputs: Inputs) -> None:
        self._inputs = inputs
        self._read: dict[tuple[object, ...], FloatArray | None] = {}
        # By identity: the numbers are held beside, so that no other array can take their place.
        self._known: dict[int, Number] = {}
        self._worth: dict[tuple[object, ...], FloatArray | None] = {}

    def number(self, reading: Reading) -> FloatArray | None:
        """A reading at every sample, in its unit; None where the log lacks an input."""
        key = tuple(getattr(reading, name) for name in Reading.model_fields)
        if key not in self._read:
            self._read[key] = read(reading, self._inputs)
        return self._read[key]

    def of(self, values: FloatArray) -> "Number":
        """What is known of one number of the log, an array over its samples."""
        if id(values) not in self._known:
            self._known[id(values)] = Number(values, self._inputs.times)
        return self._known[id(values)]

    def worth(self, table: Table) -> FloatArray | None:
        """Degrees per row that half a logged step of each of a table's inputs is worth; None where
        the log lacks one. A table that several sheets have alike is asked once."""
        key = (table.axes, table.values, table.amount)
        if key not in self._worth:
            self._worth[key] = self._sway(table, self._half_steps)
        return self._worth[key]

    def unseen(self, table: Table) -> FloatArray | None:
        """Degrees per row that may have come and gone between two samples of what a table reads;
        None where it reads nothing that is sampled more seldom than the log has rows."""
        numbers = [self.number(axis) for axis in table.axes]
        if all(column is None or self.of(column).between is None for column in numbers):
            return None
        return self._sway(table, self._between)

    def _sway(
        self, table: Table, width: Callable[[Axis, FloatArray], float | FloatArray]
    ) -> FloatArray | None:
        columns = [self.number(axis) for axis in table.axes]
        known = [column for column in columns if column is not None]
        if not known or len(known) < len(columns):
            return None
        return sway(table, known, [width(*one) for one in zip(table.axes, known, strict=True)])

    def _half_steps(self, axis: Axis, column: FloatArray) -> float:
        half = 0.5 * self.of(column).logged_step
        return half if half <= 0.25 * np.ptp(axis.points) else 0.0

    def _between(self, axis: Axis, column: FloatArray) -> float | FloatArray:
        between = self.of(column).between
        return 0.0 if between is None else between


class Number:
    """One number of a log, sample by sample (NaN: none), and how finely the log has it."""

    def __init__(self, values: FloatArray, times: FloatArray) -> None:
        self.values, self._times = values, times

    @cached_property
    def known(self) -> FloatArray:
        """The samples that there are."""
        return self.values[np.isfinite(self.values)]

    @cached_property
    def step(self) -> float:
        """The step in which it counts, in its unit; 0 where it stands still or on no grid."""
        return quantisation_step(self.known) or 0.0

    @cached_property
    def logged_step(self) -> float:
        """The step; of a number that stands still, what its decimals leave; 0 without samples."""
        if self.known.size == 0:
            return 0.0
        if self.known.min() < self.known.max():
            return self.step
        text = f"{self.known[0]:.6f}".rstrip("0")
        return float(10.0 ** -(len(text) - text.index(".") - 1))

    @cached_property
    def between(self) -> FloatArray | None:
        """How far it may have moved, row by row, since or until a sample of its own, in its unit;
        None where every row is one."""
        samples = self._samples
        if not samples.sparse:
            return None
        left, right = neighbours(samples.own)
        rows = np.flatnonzero(samples.own)
        moved = np.abs(np.diff(self.values[rows]))
        moved = np.append(moved, moved[-1:] if moved.size else 0.0)  # as far again behind the last
        here = np.nan_to_num(moved[left])
        if samples.between is not Between.HELD:  # on a straight line the nearer sample tells more
            share = (np.arange(left.size) - rows[left]) / np.maximum(rows[right] - rows[left], 1)
            here = here * np.clip(np.maximum(share, 1.0 - share), 0.0, 1.0)
        return np.where(samples.own, 0.0, here)

    @cached_property
    def span(self) -> tuple[FloatArray, FloatArray] | None:
        """The least and the most that it may have been in each row, between the samples beside it;
        None where every row is one."""
        if not self._samples.sparse:
            return None
        left, right = neighbours(self._samples.own)
        own = self.values[self._samples.own]
        low, high = np.fmin(own[left], own[right]), np.fmax(own[left], own[right])
        return np.fmin(low, self.values), np.fmax(high, self.values)

    @cached_property
    def _samples(self) -> Samples:
        return find_samples(self.values)

    @cached_property
    def noise(self) -> float:
        """Its spread from sample to sample, in its unit."""
        return noise(self.values)

    @cached_property
    def counted(self) -> bool:
        """Whether it holds small whole numbers: a gear, a mode, a flag."""
        whole = bool(np.all(self.known == np.round(self.known)))
        return whole and float(self.known.min()) >= 0.0 and float(self.known.max()) <= _MOST_COUNTED

    @cached_property
    def averaged_over(self) -> int:
        """Over how many rows its noise can be averaged, an odd number; 1: not at all."""
        row_s = float(np.median(np.diff(self._times))) if self._times.size > 1 else 0.0
        if row_s <= 0 or self.known.size == 0 or self.counted:
            return 1
        if self.noise <= NOISY * self.logged_step:
            return 1
        some = np.linspace(0, self.values.size - 1, min(_LOOKED_AT, self.values.size)).astype(
            np.int64
        )
        for length_s in _CALM_S:
            rows = max(_FEWEST_ROWS, round(length_s / row_s)) | 1
            if rows >= self.known.size:
                continue
            left = np.abs(self.values[some] - self.mean_around(some, rows))
            left = left[np.isfinite(left)]
            if _SPREAD_OF_MEDIAN * float(np.median(left)) <= _ONLY_NOISE * self.noise:
                return rows
        return 1

    def mean_around(self, at: IntArray, rows: int) -> FloatArray:
        """The mean over so many rows around each of `at`, as far as there are any; NaN where the
        row itself is."""
        total, count = self._running
        low = np.maximum(at - rows // 2, 0)
        high = np.minimum(at + rows // 2 + 1, self.values.size)
        here = np.isfinite(self.values[at])
        mean: FloatArray = np.full(at.shape, np.nan)
        np.divide(total[high] - total[low], count[high] - count[low], out=mean, where=here)
        return mean

    @cached_property
    def _running(self) -> tuple[FloatArray, IntArray]:
        """(sum of the samples, how many there are) before each row, and before the end."""
        finite = np.isfinite(self.values)
        total = np.cumsum(np.where(finite, self.values, 0.0))
        return np.append(0.0, total), np.append(0, np.cumsum(finite))
