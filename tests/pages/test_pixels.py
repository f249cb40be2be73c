"""What the page puts on its paper, pixel by pixel, held against the samples and plain geometry."""

from itertools import combinations
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.pages.node import needs_node, told
from tuneledger.arrays import FloatArray

pytestmark = needs_node

WIDTH, HEIGHT = 120, 80
SHEET = (
    "globalThis.ImageData ??= class { constructor(w, h) {"
    " this.width = w; this.height = h; this.data = new Uint8ClampedArray(4 * w * h); } };"
)


def drawn(task: dict[str, Any], ratio: int = 1) -> FloatArray:
    """How dark each pixel is, 0 to 1, after black lines on white paper; rows from the top."""
    script = f"""
      {SHEET}
      const [w, h] = [{WIDTH * ratio}, {HEIGHT * ratio}];
      const pixels = new Pixels(w, h);
      pixels.lay(new Uint32Array(w).fill(0xffffffff));
      const ink = {{ ink: "#000000" }};
      const size = {{ width: {WIDTH}, height: {HEIGHT}, ratio: {ratio} }};
      const pen = new Pen(pixels, size, task, ink);
      pen.over({{ low: 0, high: {HEIGHT} }});
      const [times, values] = [task.times, task.values].map((all) => Float64Array.from(all));
      pen.stroke(new Series(times, values, task), task.width, task);
      tell([...pixels.data].map((p) => p & 255));
    """
    modules = {"pixels.js": "Pixels", "pen.js": "Pen", "series.js": "Series"}
    light = told(modules, script, task)
    return 1.0 - np.array(light, float).reshape(HEIGHT * ratio, WIDTH * ratio) / 255.0


def task(times: FloatArray, values: FloatArray, end: float, **more: Any) -> dict[str, Any]:
    return {
        "times": times.tolist(), "values": values.tolist(), "gap": 1.0, "step": False,
        "from": 0.0, "to": end, "width": 1.0, **more,
    }  # fmt: skip


@pytest.mark.parametrize("ratio", [1, 2])
def test_zoomed_out_each_column_is_inked_from_its_lowest_to_its_highest_sample(ratio: int) -> None:
    times = np.arange(12_000) / 100
    values = np.random.default_rng(3).uniform(5, 75, times.size)
    values[7_777] = 79.4  # a spike of one sample
    paper = drawn(task(times, values, 120.0), ratio)
    column = np.floor(times * ratio).astype(int)
    for x in range(WIDTH * ratio):
        own = values[column == x]
        top, bottom = (HEIGHT - own.max()) * ratio, (HEIGHT - own.min()) * ratio
        dark = np.flatnonzero(paper[:, x] > 0.5)
        assert dark[0] <= top + 0.5
        assert dark[-1] >= bottom - 1.5
        assert np.all(paper[dark[0] : dark[-1] + 1, x] > 0.4), "the bar has no hole"


def test_a_spike_of_a_dashed_line_is_never_left_out() -> None:
    times = np.arange(12_000) / 100
    values = np.full(times.size, 10.0)
    spikes = np.arange(50, 12_000, 100)  # one in every column
    values[spikes] = 70.0
    paper = drawn(task(times, values, 120.0, dashes=[5, 3]))
    assert np.all(paper[HEIGHT - 70 : HEIGHT - 10].min(axis=0) > 0.9)


@pytest.mark.parametrize(("rise", "width"), [(0, 1.0), (10, 1.0), (45, 2.0), (70, 1.5), (10, 3.0)])
def test_a_straight_line_covers_what_a_bar_of_its_width_covers(rise: int, width: float) -> None:
    """By geometry: length times width, seen from any side."""
    times = np.array([10.0, 10.0 + 40.0])
    values = np.array([5.0, 5.0 + rise])
    paper = drawn(task(times, values, 120.0, gap=100.0, width=width))
    assert paper.sum() == pytest.approx(np.hypot(40, rise) * width, rel=0.03)


def test_a_hole_takes_no_ink_near_or_far() -> None:
    for rate in (2, 100):
        times = np.arange(120 * rate) / rate
        times = times[(times < 40) | (times > 80)]
        paper = drawn(task(times, np.full(times.size, 40.0), 120.0, gap=3 / rate))
        assert paper[:, 42:79].sum() == 0
        assert np.all(paper[:, 5:38].max(axis=0) > 0.4)


@given(st.lists(st.floats(-50, 50) | st.just(np.nan), min_size=1, max_size=300), st.data())
@settings(max_examples=8, deadline=None)
def test_lowest_and_highest_of_any_stretch_are_those_of_its_numbers(
    values: list[float], data: st.DataObject
) -> None:
    ends = st.integers(0, len(values))
    stretches = [sorted(data.draw(st.tuples(ends, ends))) for _ in range(20)]
    script = """
      const peaks = new Peaks(Float64Array.from(task.values, (v) => v ?? NaN));
      tell(task.stretches.map(([a, b]) => { peaks.over(a, b); return [peaks.low, peaks.high]; }));
    """
    given_values = [None if np.isnan(v) else v for v in values]
    asked = {"values": given_values, "stretches": stretches}
    for (first, end), (low, high) in zip(
        stretches, told({"peaks.js": "Peaks"}, script, asked), strict=True
    ):
        own = [v for v in values[first:end] if not np.isnan(v)]
        assert (low, high) == ((min(own), max(own)) if own else (None, None))


# ---- names of thresholds


@given(
    st.lists(
        st.tuples(st.floats(0, 104), st.booleans(), st.floats(20, 160)), min_size=1, max_size=9
    ),
    st.floats(240, 900),
)
@settings(max_examples=12, deadline=None)
def test_no_name_of_a_threshold_lies_over_another_or_over_the_axis(
    lines: list[tuple[float, bool, float]], width: float
) -> None:
    wanted = [{"y": y, "below": below, "wide": wide} for y, below, wide in lines]
    axis = [{"left": 4, "right": 34, "y": y} for y in (20, 50, 80)]
    asked = {"wanted": wanted, "paper": {"width": width, "height": 104}, "axis": axis}
    places = told(
        {"labels.js": "placesFor"}, "tell(placesFor(task.wanted, task.paper, task.axis));", asked
    )
    assert len(places) == len(wanted)
    assert places[0] is not None, "the first has room always"
    stand = [*axis, *filter(None, places)]
    for one, other in combinations(stand, 2):
        if one in axis and other in axis:
            continue
        apart = one["right"] <= other["left"] or other["right"] <= one["left"]
        assert apart or abs(one["y"] - other["y"]) >= 14 - 1e-9
    for place, line in zip(places, wanted, strict=True):
        if place is not None:
            assert 0 <= place["left"] < place["right"] <= width
            assert abs(place["y"] - line["y"]) == pytest.approx(8), "it stands at its own line"
            assert 7 <= place["y"] <= 97


def test_no_line_shows_left_of_a_number_where_it_would_be_read_as_its_minus() -> None:
    script = f"""
      {SHEET}
      const context = new Proxy({{}}, {{ get: (_, name) => (...given) =>
        name === "measureText" ? {{ width: 20 }}
        : name === "getImageData" ? {{ data: new Uint8ClampedArray(4 * given[2] * given[3]) }}
        : undefined, set: () => true }});
      globalThis.document = {{ createElement: () => ({{ getContext: () => context }}) }};
      const pixels = new Pixels({WIDTH}, {HEIGHT});
      pixels.lay(new Uint32Array({WIDTH}).fill(0xffffffff));
      const ink = {{ ink: "#000000", paper: "#ffffff", soft: "#000000", grid: "#000000" }};
      const pen = new Pen(pixels, {{ width: {WIDTH}, height: {HEIGHT}, ratio: 1 }}, task, ink);
      pen.over({{ low: -50, high: 30 }});
      pen.rule(4);
      const boxes = pen.figures(4);
      tell({{ light: [...pixels.data].map((p) => p & 255), rows: boxes.map((box) => box.y) }});
    """
    found = told({"pixels.js": "Pixels", "pen.js": "Pen"}, script, {"from": 0, "to": 60})
    light = np.array(found["light"], float).reshape(HEIGHT, WIDTH)
    assert len(found["rows"]) >= 2
    for row in found["rows"]:
        at = round(row)
        assert light[at, -1] == 0.0, "the ruled line is there"
        assert (light[at - 3 : at + 4, :4] == 255.0).all()
