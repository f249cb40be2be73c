"""A sheet of many corrections costs what those cost that act, and says what it always said."""

from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace
from typing import Any, cast

import numpy as np
import pytest

from tuneledger import reconcile
from tuneledger.calibrations.model import Limits
from tuneledger.evaluate.combine import combine
from tuneledger.evaluate.model import Contribution, Evidence, Source
from tuneledger.explain import search
from tuneledger.explain.sheets import solid
from tuneledger.explain.summed import Summed

DEMO = Path(__file__).parents[2] / "demo"
ROWS, PARTS = 50, 12
DRAW = np.random.default_rng(5)


def part(number: int, effect: str = "add") -> Contribution:
    """One that acts in some rows, and in some is not computable."""
    active = DRAW.random(ROWS) < 0.5
    computable = DRAW.random(ROWS) < 0.9
    values = np.where(active, DRAW.normal(size=ROWS) if effect == "add" else 17.3, 0.0)
    values[~computable] = np.nan
    known = (active & computable, computable, np.ones(ROWS), Evidence.COMPUTED)
    return Contribution(f"c{number}", effect, values, *known, Source("rev-d.toml", "D", "spark"))


@pytest.mark.parametrize("last", ["add", "at most"])
def test_parts_summed_at_once_leave_to_the_last_digit_what_they_leave_one_by_one(last: str) -> None:
    parts = [*(part(n) for n in range(PARTS - 1)), part(PARTS - 1, last)]
    still = part(PARTS)
    parts.append(replace(still, values=np.where(still.computable, 0.0, np.nan)))
    start, delivered = 20 + DRAW.normal(size=(2, ROWS))
    judged = DRAW.random(ROWS) < 0.9
    book = cast(Any, SimpleNamespace(delivered=delivered, judged=judged))
    limits = Limits(lowest=18.0, highest=23.0)
    summed = Summed(book, start, parts, limits, [3])

    def one_by_one(now: list[Contribution]) -> Any:
        gives = combine(start, [solid(one) for one in now], limits).delivered
        return np.where(judged, delivered - gives, np.nan)

    assert np.array_equal(summed.now(), one_by_one(parts), equal_nan=True)
    rows, other = np.flatnonzero(DRAW.random(ROWS) < 0.3), part(3)
    changed = [*parts[:3], other, *parts[4:]]
    left = summed.otherwise(3, other, rows)
    assert np.array_equal(left, one_by_one(changed)[rows], equal_nan=True)
    summed.put(3, other)
    assert np.array_equal(summed.now(), one_by_one(changed), equal_nan=True)


def test_a_correction_that_posts_nothing_is_not_tried_without(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Sixty that this drive never calls for change neither the answer nor its cost."""
    bare = (DEMO / "rev-d.toml").read_text(encoding="utf-8")
    never = "".join(
        f'[[spark.correction]]\nid = "c{n}"\namount = -2.0\n'
        f'when = [{{ signal = "engine speed", unit = "rpm", above = {9000 + n} }}]\n'
        for n in range(60)
    )
    (tmp_path / "rev-d.toml").write_text(f"{bare}\n{never}", encoding="utf-8")
    carried_out = search.carry_out
    tried: list[int] = []

    def counted(*given: Any, **named: Any) -> Any:
        tried.append(1)
        return carried_out(*given, **named)

    monkeypatch.setattr(search, "carry_out", counted)
    rows = (DEMO / "climb.csv").read_text(encoding="utf-8").splitlines(keepends=True)
    (tmp_path / "climb.csv").write_text("".join(rows[:2500]), encoding="utf-8")
    few = reconcile([tmp_path / "climb.csv", DEMO / "rev-d.toml"])
    once = len(tried)
    many = reconcile([tmp_path / "climb.csv", tmp_path / "rev-d.toml"])
    assert 0 < once == len(tried) - once
    assert many.headline == few.headline
