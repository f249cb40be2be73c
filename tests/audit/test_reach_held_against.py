"""Reach held against two workings that share nothing with it: all combinations tried one by one,
and a virtual control unit driven at random."""

import ast
from pathlib import Path
from random import Random

import numpy as np
import pytest

from tests.audit import brute, brute_choices, brute_readings
from tests.audit.sheets import MAP, POINTS, small_sheet
from tuneledger.audit.reach import factors
from tuneledger.audit.reach.reach import Reach, reach_of
from tuneledger.car.ecu import Ecu
from tuneledger.signals import SIGNALS
from tuneledger.units import conversion

SAME_DEG = 1e-3  # brute force steps 1e-6 aside of a threshold, along steep tables
WANTED = 400


def reaches(found: Reach, lowest: np.ndarray, highest: np.ndarray, seed: int) -> None:
    """What is found is what is true, or where it is a bound, no less than that."""
    assert (found.lowest.degrees <= lowest + SAME_DEG).all(), seed
    assert (found.highest.degrees >= highest - SAME_DEG).all(), seed
    if found.exact:
        assert found.lowest.degrees == pytest.approx(lowest, abs=SAME_DEG), seed
        assert found.highest.degrees == pytest.approx(highest, abs=SAME_DEG), seed


def test_four_hundred_small_sheets_reach_what_brute_force_finds() -> None:
    exact = bounds = 0
    for seed in range(10_000):
        drawn = small_sheet(seed)
        try:
            lowest, highest = brute.reach(drawn, most=20_000)
        except brute.TooManyRowsError:
            continue
        found = reach_of(drawn)
        exact += found.exact
        bounds += not found.exact
        reaches(found, lowest, highest, seed)
        if exact == WANTED:
            break
    assert exact == WANTED
    assert bounds < WANTED // 10, "a bound is the exception"


def test_brute_force_shares_no_code_with_what_it_checks() -> None:
    allowed = {"calibrations.model", "calibrations.paths", "signals", "units"}
    for module in (brute, brute_choices, brute_readings):
        tree = ast.parse(Path(str(module.__file__)).read_text(encoding="utf-8"))
        own = [n.module for n in ast.walk(tree) if isinstance(n, ast.ImportFrom) and n.module]
        taken = {name.removeprefix("tuneledger.") for name in own if name.startswith("tuneledger")}
        assert taken <= allowed
        assert not [
            n
            for n in ast.walk(tree)
            if isinstance(n, ast.Import)
            and "tuneledger" in {alias.name.partition(".")[0] for alias in n.names}
        ]


def test_tables_that_grow_too_large_give_a_bound(monkeypatch: pytest.MonkeyPatch) -> None:
    for module in ("factors", "settle", "terms", "truths"):
        monkeypatch.setattr(f"tuneledger.audit.reach.{module}.MOST_BOXES", 12)
    bounds = 0
    for seed in range(60):
        drawn = small_sheet(seed)
        try:
            lowest, highest = brute.reach(drawn, most=8_000)
        except brute.TooManyRowsError:
            continue
        found = reach_of(drawn)
        bounds += not found.exact
        reaches(found, lowest, highest, seed)
    assert bounds > 5
    assert factors.MOST_BOXES == 12


@pytest.mark.parametrize("seed", range(40))
def test_no_drive_of_the_virtual_control_unit_leaves_the_reach(seed: int) -> None:
    drawn, random = small_sheet(1000 + seed), Random(seed)
    found = reach_of(drawn)
    grid = {
        (p, n): (i, j)
        for i, p in enumerate(MAP["axes"][0]["at"])
        for j, n in enumerate(MAP["axes"][1]["at"])
    }
    ecu, t = Ecu(drawn, fresh=True), 0.0
    for _ in range(150):
        now = {
            name: SIGNALS[name].lowest
            + random.random() * (SIGNALS[name].highest - SIGNALS[name].lowest)
            for name in SIGNALS
        }
        now |= {
            name: random.choice(points) for name, points in POINTS.items() if random.random() < 0.7
        }
        cell = random.choice(list(grid))
        now |= {"manifold absolute pressure": cell[0], "engine speed": cell[1]}
        wet = random.random() < 0.5

        def read(
            kind: str, name: str, unit: str | None, now: dict[str, float] = now, wet: bool = wet
        ) -> float | None:
            if kind == "channel":
                return float(wet) if name == "Wet switch" else None
            scale, offset = (conversion(SIGNALS[name].unit, unit) if unit else None) or (1.0, 0.0)
            return now[name] * scale + offset

        for _ in range(random.choice([1, 3])):  # stays long enough for ramps, some of the time
            step = ecu.step(t, read)
            t += random.choice([0.05, 0.3, 5.0])
        if step.delivered is None or any(
            "ramp" in str(c) and c.ramp for c in drawn.spark.correction
        ):
            continue
        at = grid[cell]
        assert found.lowest.degrees[at] - 1e-6 <= step.delivered <= found.highest.degrees[at] + 1e-6
