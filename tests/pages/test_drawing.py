"""Lines on the paper show every sample: none is lost to the pixels, none is made up."""

from typing import Any

import numpy as np
import pytest

from tests.pages.node import needs_node, told
from tuneledger.arrays import FloatArray
from tuneledger.units import parse_unit

pytestmark = needs_node

WIDTH, HEIGHT = 200, 100


def traced(
    times: FloatArray, values: FloatArray, window: tuple[float, float], gap: float, step: bool
) -> list[tuple[str, float, float]]:
    """The path that the page's own pen draws on paper 200 × 100, values from 0 to 100."""
    task: dict[str, Any] = {
        "times": times.tolist(), "values": values.tolist(), "gap": gap, "step": step,
        "from": window[0], "to": window[1],
    }  # fmt: skip
    script = f"""
      const path = [];
      const c = {{ moveTo: (x, y) => path.push(["move", x, y]),
                   lineTo: (x, y) => path.push(["line", x, y]) }};
      const pen = new Pen({{}}, {{ width: {WIDTH}, height: {HEIGHT}, ratio: 1 }}, task, {{}});
      pen.over({{ low: 0, high: 100 }});
      const [times, values] = [task.times, task.values].map((all) => Float64Array.from(all));
      pen.trace(new Series(times, values, task), c);
      tell(path);
    """
    path = told({"pen.js": "Pen", "series.js": "Series"}, script, task)
    return [(kind, x, y) for kind, x, y in path]


def test_a_crowded_line_reaches_the_lowest_and_highest_sample_of_every_pixel_column() -> None:
    times = np.arange(20_000) / 100
    values = np.round(np.random.default_rng(5).uniform(0, 100, times.size), 2)
    values[12_345] = 99.99  # a spike of one sample
    path = traced(times, values, (0.0, 200.0), gap=0.1, step=False)
    for column in range(WIDTH):
        inside = (times >= column) & (times < column + 1)
        drawn = [100 - y for _, x, y in path if int(x) == column]
        assert min(drawn) == pytest.approx(values[inside].min())
        assert max(drawn) == pytest.approx(values[inside].max())
    assert [kind for kind, _, _ in path].count("move") == 1


def test_zoomed_in_the_line_goes_through_the_samples_and_nowhere_else() -> None:
    times = np.arange(20_000) / 100
    values = 50 + 40 * np.sin(times * 40)
    path = traced(times, values, (100.0, 100.5), gap=0.1, step=False)
    seen = {(round(x, 6), round(y, 6)) for _, x, y in path}
    own = {
        (round((t - 100) * WIDTH / 0.5, 6), round(100 - v, 6))
        for t, v in zip(times, values, strict=True)
        if 99.98 < t < 100.53
    }
    assert seen <= own
    assert len(seen) >= 50


def test_a_hole_stays_open_near_and_far() -> None:
    for rate, window in ((1, (0.0, 60.0)), (100, (0.0, 60.0))):
        times = np.arange(60 * rate) / rate
        times = times[(times < 20) | (times > 40)]
        path = traced(times, np.full(times.shape, 50.0), window, gap=3 / rate, step=False)
        moves = [x for kind, x, _ in path if kind == "move"]
        assert len(moves) == 2
        assert moves[1] * 60 / WIDTH == pytest.approx(40, abs=1.1)


def test_a_switch_is_drawn_as_a_step() -> None:
    path = traced(np.arange(4.0), np.array([0.0, 0.0, 100.0, 100.0]), (0.0, 3.0), 3.0, step=True)
    corner = [(x, y) for _, x, y in path]
    at = WIDTH * 2 / 3
    assert (pytest.approx(at), 100.0) in corner, "it holds its value until the next sample"
    assert (pytest.approx(at), 0.0) in corner


def test_a_lone_sample_is_a_dot() -> None:
    path = traced(np.array([0.0, 5.0, 10.0]), np.full(3, 50.0), (0.0, 10.0), gap=1.0, step=False)
    assert [kind for kind, _, _ in path].count("move") == 3
    assert len([1 for kind, _, _ in path if kind == "line"]) >= 3


def test_the_units_that_a_reader_chooses_are_those_of_the_table() -> None:
    """The modules' factors against `units`, which the tests of units hold against NIST SP 811."""
    known = told({"units.js": "CHOICES"}, "tell(CHOICES);")
    for kind, choices in known.items():
        for choice in choices:
            unit = parse_unit(choice["unit"])
            assert unit is not None
            assert (unit.kind, unit.factor, unit.offset) == (
                kind,
                pytest.approx(choice["factor"]),
                pytest.approx(choice["offset"]),
            )
