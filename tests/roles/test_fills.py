"""What a logger writes where it has nothing is no value; what was reached step by step is one.

Scales: SAE J1979, PID 0x0E is A/2 − 64 degrees (−64 to 63.5), PID 0x05 and 0x0F are A − 40 °C (−40
to 215), PID 0x0B is A kPa (0 to 255), PID 0x0C is (256·A + B)/4 rpm (to 16383.75).
"""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.explain.labelled import written
from tests.explain.told import kinds
from tests.roles.dressing import make_log
from tests.roles.drives import drive
from tests.runs import climb
from tuneledger.arrays import FloatArray
from tuneledger.logs.model import Channel
from tuneledger.roles import identify
from tuneledger.roles.fills import cleared
from tuneledger.roles.model import Role

CALM = np.round(20.0 + 12.0 * np.sin(np.arange(2000) / 40.0), 1)


def role(signal: str, scale: float = 1.0, offset: float = 0.0) -> Role:
    return Role(signal, Channel("x", "", "x", "x.csv", 1), "", scale, offset)


def put(values: FloatArray, number: float, *rows: int) -> FloatArray:
    out = values.copy()
    out[list(rows)] = number
    return out


@pytest.mark.parametrize(
    ("signal", "number"),
    [
        ("delivered advance", 99.9),
        ("delivered advance", -64.0),
        ("delivered advance", 63.5),
        ("scheduled advance", 6553.5),
        ("intake air temperature", -40.0),
        ("intake air temperature", 215.0),
        ("engine coolant temperature", 255.0),
        ("manifold absolute pressure", 6553.5),
        ("engine speed", 16383.75),
        ("throttle position", 655.35),
    ],
)
@pytest.mark.parametrize("rows", [(500,), (100, 101, 102, 900), tuple(range(300, 700))])
def test_what_no_engine_shows_and_stands_apart_is_missing(
    signal: str, number: float, rows: tuple[int, ...]
) -> None:
    numbers, fill = cleared(put(CALM, number, *rows), role(signal))
    assert fill is not None
    assert np.flatnonzero(fill.rows).tolist() == list(rows)
    assert np.isnan(numbers[list(rows)]).all()
    assert np.isfinite(numbers).sum() == CALM.size - len(rows)


def test_the_unit_of_the_channel_does_not_matter() -> None:
    fahrenheit = put(np.round(1.8 * CALM + 32.0, 1), -40.0, 7, 8, 9)
    _, fill = cleared(fahrenheit, role("intake air temperature", 5 / 9, -160 / 9))
    assert fill is not None  # −40 °F is −40 °C
    assert fill.values == (-40.0,)


def test_a_cold_start_that_comes_from_minus_forty_by_steps_is_no_fill() -> None:
    warming = np.round(np.linspace(-40.0, 30.0, 2000))
    assert cleared(warming, role("engine coolant temperature"))[1] is None


def test_a_boost_that_runs_into_the_end_of_the_scale_is_no_fill() -> None:
    pressure = np.minimum(np.round(150.0 + 140.0 * np.sin(np.arange(2000) / 60.0)), 255.0)
    assert cleared(pressure, role("manifold absolute pressure"))[1] is None


def test_an_engine_that_turns_faster_than_most_is_no_fill_but_the_fill_above_it_is() -> None:
    fast = np.round(9000.0 + 7000.0 * np.sin(np.arange(2000) / 60.0))
    assert cleared(fast, role("engine speed"))[1] is None
    _, fill = cleared(put(fast, 65535.0, 5, 6), role("engine speed"))
    assert fill is not None
    assert fill.values == (65535.0,)


def test_what_fills_most_of_a_run_is_the_channel_itself() -> None:
    assert cleared(put(CALM, 99.9, *range(1500)), role("delivered advance"))[1] is None


@given(
    st.lists(st.floats(-20.0, 50.0), min_size=30, max_size=60),
    st.sampled_from(["delivered advance", "scheduled advance"]),
)
def test_an_advance_within_what_can_be_stays_as_it_is(values: list[float], signal: str) -> None:
    numbers = np.array(values)
    kept, fill = cleared(numbers, role(signal))
    assert fill is None
    assert kept is numbers


@pytest.mark.parametrize("number", [99.9, -64.0, 6553.5])
@pytest.mark.parametrize("channel", ["Adv given", "Adv asked"])
def test_a_filled_advance_raises_nothing_and_is_told(channel: str, number: float) -> None:
    rows = (100, 333, 334, 335, 700, 900)
    statement = written(climb(), change={channel: lambda v: put(v, number, *rows)})
    assert (statement.verdict, kinds(statement)) == ("agrees", [])
    (note,) = [note for note in statement.notes if "taken for what a logger writes" in note]
    assert note.startswith(f"{channel} stands at ")
    assert "in 6 samples" in note


def test_fills_neither_hide_a_channel_nor_make_it_another_unit() -> None:
    d = drive(311, 60)
    log_rows = np.arange(d.times.size) % 20 == 0  # one row in twenty
    columns = {}
    for signal, number in (
        ("engine speed", 65535.0),
        ("manifold absolute pressure", 6553.5),
        ("intake air temperature", 215.0),
        ("engine coolant temperature", -40.0),
        ("delivered advance", 99.9),
        ("scheduled advance", 63.5),
    ):
        values, unit = d.quantities[signal]
        columns[signal] = (np.where(log_rows, number, values), unit)
    roles = identify(make_log(columns, d.times))
    assert set(columns) <= set(roles.by_signal)
    assert all(r.relabelled is None for r in roles.by_signal.values())


@pytest.mark.parametrize("unit", ["", "deg"])
@pytest.mark.parametrize("number", [99.9, -99.9, 127.0, -128.0, 120.0, 327.67])
@pytest.mark.parametrize("every", [3, 10])
def test_a_fill_in_long_runs_is_no_factor_of_ten(unit: str, number: float, every: int) -> None:
    """As where the advance is not reckoned while the fuel is cut; up to a third of the run."""
    d = drive(318, 60)
    cut = np.arange(d.times.size) // 40 % every == 0
    columns = {s: d.quantities[s] for s in ("engine speed", "throttle position")}
    for signal in ("delivered advance", "scheduled advance"):
        columns[signal] = (d.quantities[signal][0], unit)
    columns["delivered advance"] = (np.where(cut, number, columns["delivered advance"][0]), unit)
    roles = identify(make_log(columns, d.times))
    assert roles.misfits == ()
    role = roles.get("delivered advance")
    assert role is not None
    numbers, fill = cleared(columns["delivered advance"][0], role)
    assert fill is not None
    assert fill.values == (number,)
    assert np.array_equal(np.isnan(numbers), cut)
