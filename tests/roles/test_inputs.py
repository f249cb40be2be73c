"""A log as evaluation sees it: one time base, the unit asked for, nothing made up in between."""

from collections.abc import Sequence

import numpy as np
import pytest

from tests.roles.dressing import make_log
from tuneledger.arrays import FloatArray, IntArray
from tuneledger.evaluate.model import Inputs
from tuneledger.logs.model import Channel, Group, Log
from tuneledger.roles.inputs import LogInputs
from tuneledger.roles.model import Role, Roles

TIMES = np.arange(0.0, 10.0, 0.1)
NAN = np.nan


def slow(values: FloatArray, every: int = 10) -> FloatArray:
    """The channel's own samples only, the rows between them empty."""
    return np.where(np.arange(values.size) % every == 0, values, NAN)


def plays(
    log: Log,
    signal: str,
    name: str,
    unit: str,
    scale: float = 1.0,
    offset: float = 0.0,
    relabelled: str | None = None,
) -> Role:
    channel = log.find(name)
    assert channel is not None
    return Role(signal, channel, unit, scale, offset, relabelled=relabelled)


def over(
    columns: dict[str, tuple[FloatArray, str]],
    parts: list[tuple[str, str, str, float, float]],
    times: FloatArray = TIMES,
) -> LogInputs:
    log = make_log(columns, TIMES)
    roles = {p[0]: plays(log, *p) for p in parts}
    return LogInputs(log, Roles(roles), times)


def values_of(found: FloatArray | None) -> FloatArray:
    assert found is not None
    return found


def test_it_is_what_evaluation_asks_for() -> None:
    some: Inputs = over({"Rev": (TIMES, "rpm")}, [])
    assert some.times is TIMES


def test_the_same_rows_are_not_resampled() -> None:
    rev = TIMES * 100
    some = over({"Rev": (rev, "rpm")}, [("engine speed", "Rev", "rpm", 1.0, 0.0)])
    assert np.array_equal(values_of(some.signal("engine speed", None)), rev)


def test_a_slower_channel_is_joined_by_straight_lines_between_its_own_samples() -> None:
    air = 20 + TIMES * 3.3
    some = over({"Air": (slow(air), "degC")}, [("intake air temperature", "Air", "degC", 1.0, 0.0)])
    found = values_of(some.signal("intake air temperature", "degC"))
    inside = TIMES <= 9.0
    assert found[inside] == pytest.approx(air[inside])


def test_a_slower_channel_holds_at_its_ends_until_another_sample_would_be_due() -> None:
    air = 20 + TIMES * 3.3
    values = slow(air)
    values[(TIMES < 2.9) | (TIMES > 7.1)] = NAN  # samples at 3, 4, 5, 6 and 7 s
    found = values_of(over({"Air": (values, "degC")}, []).channel("Air", None))
    assert np.isnan(found[(TIMES < 1.99) | (TIMES > 8.01)]).all()
    assert set(found[(TIMES > 2.05) & (TIMES < 2.95)]) == {values[TIMES == 3.0][0]}
    assert set(found[(TIMES > 7.05) & (TIMES < 7.95)]) == {values[TIMES == 7.0][0]}


@pytest.mark.parametrize("name", ["Gear", "Mode"])
def test_a_slower_channel_of_steps_is_held(name: str) -> None:
    steps = np.floor(TIMES / 2.5)
    some = over(
        {name: (slow(steps), "")}, [("gear", "Gear", "", 1.0, 0.0)] if name == "Gear" else []
    )
    found = some.signal("gear", None) if name == "Gear" else some.channel(name, None)
    found = values_of(found)
    assert set(np.unique(found[np.isfinite(found)])) <= set(steps)


def test_a_long_gap_is_not_bridged() -> None:
    values = slow(TIMES * 1.7, 2)
    values[(TIMES > 3) & (TIMES < 6)] = NAN
    some = over({"Air": (values, "degC")}, [])
    found = values_of(some.channel("Air", None))
    assert np.isnan(found[(TIMES > 3.3) & (TIMES < 5.8)]).all()
    assert np.isfinite(found[(TIMES > 1) & (TIMES < 2.8)]).all()


def test_nothing_is_known_before_the_first_and_after_the_last_sample() -> None:
    values = np.where((TIMES > 2) & (TIMES < 8), 5.5, NAN)
    found = values_of(over({"Air": (values, "degC")}, []).channel("Air", None))
    assert np.isnan(found[TIMES < 2]).all()
    assert np.isnan(found[TIMES > 8]).all()


@pytest.mark.parametrize("by_name_first", [True, False])
def test_a_target_that_takes_steps_is_held_whoever_asked_for_its_channel_before(
    by_name_first: bool,
) -> None:
    """A sheet that names the channel itself is served by straight lines, as it reads any other."""
    target = slow(np.where(TIMES < 5.0, 850.5, 951.25), 10)
    some = over({"Goal": (target, "rpm")}, [("idle speed target", "Goal", "rpm", 1.0, 0.0)])
    if by_name_first:
        some.channel("Goal", None)
    held = values_of(some.signal("idle speed target", None))
    assert set(held[np.isfinite(held)]) == {850.5, 951.25}
    joined = values_of(some.channel("Goal", None))
    assert ((joined > 851.0) & (joined < 951.0)).any()


def test_another_time_base_is_served_too() -> None:
    fine = np.linspace(0, 9.9, 991)
    some = over({"Rev": (TIMES * 100, "rpm")}, [("engine speed", "Rev", "rpm", 1.0, 0.0)], fine)
    assert values_of(some.signal("engine speed", None)) == pytest.approx(fine * 100)


def test_a_channel_of_another_group_is_brought_onto_the_times() -> None:
    slower = np.arange(0.0, 10.0, 0.5)
    names = ("Time", "Rev", "Air")
    channels = tuple(
        Channel(n, "", n, "m.csv", i, group=int(n == "Air")) for i, n in enumerate(names)
    )

    class Cells:
        def numbers(self, column: int) -> FloatArray:
            return [TIMES, TIMES * 100, slower * 2.2][column]

        sample = numbers

        def some(self, columns: Sequence[int], rows: IntArray) -> dict[int, FloatArray]:
            return {column: self.numbers(column)[rows] for column in columns}

        def words(self, column: int) -> tuple[str, ...]:
            return ()

    log = Log("m.csv", (Group(TIMES), Group(slower)), channels, channels[0], Cells())
    found = values_of(LogInputs(log, Roles(), TIMES).channel("Air", None))
    assert found[TIMES <= 9.5] == pytest.approx(TIMES[TIMES <= 9.5] * 2.2)


def test_units_are_converted_for_signals_and_channels() -> None:
    columns = {
        "Air": (np.full(TIMES.size, 25.0), "°C"),
        "Boost": (np.full(TIMES.size, 10.0), "psi"),
    }
    some = over(columns, [("intake air temperature", "Air", "degC", 1.0, 0.0)])
    assert values_of(some.signal("intake air temperature", "degF"))[0] == pytest.approx(77.0)
    assert values_of(some.channel("boost", "kPa"))[0] == pytest.approx(68.94757)
    assert values_of(some.channel("Boost", None))[0] == 10.0


def test_a_channel_without_a_label_is_taken_to_be_in_the_unit_asked_for() -> None:
    some = over({"Boost": (np.full(TIMES.size, 10.0), "")}, [])
    assert values_of(some.channel("Boost", "kPa"))[0] == 10.0


def test_a_unit_of_another_kind_is_refused() -> None:
    some = over({"Air": (TIMES, "degC")}, [("intake air temperature", "Air", "degC", 1.0, 0.0)])
    with pytest.raises(ValueError, match="not two units of one kind"):
        some.signal("intake air temperature", "kPa")
    with pytest.raises(ValueError, match="not two units of one kind"):
        some.channel("Air", "kPa")


def test_what_the_log_does_not_carry_is_none() -> None:
    some = over({"Air": (TIMES, "degC")}, [])
    assert some.signal("oil temperature", "degC") is None
    assert some.channel("Nobody", None) is None


def test_a_channel_read_against_its_label_is_converted_from_what_it_truly_is() -> None:
    log = make_log({"Boost": (np.full(TIMES.size, 10.0), "kPa")}, TIMES)
    roles = {
        "manifold absolute pressure": plays(
            log, "manifold absolute pressure", "Boost", "psi", 6.894757, 0.0, "unit"
        )
    }
    some = LogInputs(log, Roles(roles), TIMES)
    assert values_of(some.channel("Boost", "kPa"))[0] == pytest.approx(68.94757)
    assert values_of(some.signal("manifold absolute pressure", "kPa"))[0] == pytest.approx(68.94757)


def test_a_unit_that_somebody_put_right_holds_for_the_channel_everywhere() -> None:
    log = make_log({"Boost": (np.full(TIMES.size, 10.0), "kPa")}, TIMES)
    some = LogInputs(log, Roles(units={"Boost": "psi"}), TIMES)
    assert values_of(some.channel("Boost", "kPa"))[0] == pytest.approx(68.94757)


def test_an_absolute_signal_asked_for_in_a_gauge_unit_counts_from_the_outside_air() -> None:
    columns = {"P": (np.full(TIMES.size, 150.0), "kPa"), "Baro": (np.full(TIMES.size, 90.0), "kPa")}
    parts = [
        ("manifold absolute pressure", "P", "kPa", 1.0, 0.0),
        ("barometric pressure", "Baro", "kPa", 1.0, 0.0),
    ]
    assert values_of(over(columns, parts).signal("manifold absolute pressure", "kPag"))[
        0
    ] == pytest.approx(60.0)
    assert values_of(over(columns, parts[:1]).signal("manifold absolute pressure", "kPag"))[
        0
    ] == pytest.approx(150 - 101.325)


def test_time_is_a_signal_like_any_other() -> None:
    some = over({"Air": (TIMES, "degC")}, [])
    assert values_of(some.signal("time", "ms"))[-1] == pytest.approx(9900.0)


def test_a_smeared_switch_stays_the_number_that_it_is() -> None:
    smeared = np.where(TIMES < 5, 0.0, 1.0)
    smeared[50] = 0.37
    assert values_of(over({"Wet": (smeared, "")}, []).channel("Wet", None))[50] == 0.37


def test_what_was_handed_out_cannot_be_changed() -> None:
    some = over({"Rev": (TIMES * 100, "rpm")}, [("engine speed", "Rev", "rpm", 2.0, 0.0)])
    with pytest.raises(ValueError, match="read-only"):
        values_of(some.signal("engine speed", None))[0] = 1.0
