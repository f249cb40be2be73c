"""Where names say nothing, channels say it of one another."""

import numpy as np
import pytest

from tests.roles.bystanders import add_bystanders
from tests.roles.dressing import make_log, sheet_of
from tests.roles.drives import Drive, drive
from tuneledger.arrays import FloatArray
from tuneledger.calibrations.model import Calibration, Correction
from tuneledger.logs.model import Log
from tuneledger.roles import Roles, identify

SECONDS = 50
CORE = (
    "engine speed",
    "manifold absolute pressure",
    "throttle position",
    "engine load",
    "vehicle speed",
    "gear",
    "barometric pressure",
    "idle speed target",
    "module voltage",
)


def nameless(
    d: Drive, *signals: str, also: tuple[str, ...] = (), labelled: bool = True
) -> tuple[Log, dict[str, str]]:
    """A log of those quantities under names that say nothing, and quantity → name."""
    names = {q: f"ch{i:02d}" for i, q in enumerate((*signals, *also), start=1)}
    columns = {}
    for quantity, name in names.items():
        values, unit = d.quantities[quantity]
        columns[name] = (values, unit if labelled else "")
    return make_log(columns, d.times), names


def a_drive(seed: int) -> Drive:
    d = drive(seed, SECONDS)
    add_bystanders(d, np.random.default_rng(seed))
    return d


def given(roles: Roles) -> dict[str, str]:
    return {s: r.channel.name for s, r in roles.by_signal.items() if s != "time"}


SEEDS = tuple(range(100, 112))


def test_a_supplied_map_settles_its_inputs_and_the_scheduled_advance_without_any_name() -> None:
    found = 0
    for seed in SEEDS:
        d = a_drive(seed)
        log, names = nameless(
            d, *CORE, "scheduled advance", "delivered advance", also=("x inlet cam", "x steering")
        )
        roles = given(identify(log, sheets=[sheet_of(d)]))
        for signal in (*d.axes, "scheduled advance", "delivered advance"):
            if signal in roles:
                found += 1
                assert roles[signal] == names[signal], (seed, signal)
    assert found >= 0.8 * 4 * len(SEEDS)


def test_scheduled_and_delivered_are_told_apart_by_how_they_run() -> None:
    wrong = found = 0
    for seed in SEEDS:
        log, names = nameless(a_drive(seed), *CORE, "scheduled advance", "delivered advance")
        roles = given(identify(log))
        for signal in ("scheduled advance", "delivered advance"):
            found += signal in roles
            wrong += signal in roles and roles[signal] != names[signal]
    assert wrong == 0
    assert found >= len(SEEDS)  # half of the 24


def test_two_advances_that_never_differ_are_not_told_apart_by_a_coin() -> None:
    d = a_drive(101)
    values, unit = d.quantities["scheduled advance"]
    columns = {f"ch{i}": d.quantities[q] for i, q in enumerate(CORE)}
    log = make_log(columns | {"one": (values, unit), "other": (values, unit)}, d.times)
    roles = identify(log)
    assert roles.get("scheduled advance") is None
    assert roles.get("delivered advance") is None
    doubt = next(x for x in roles.doubts if x.signal == "delivered advance")
    assert {c.name for c, _ in doubt.candidates} == {"one", "other"}
    assert all(odds < 0.8 for _, odds in doubt.candidates)


@pytest.mark.parametrize(
    "decoy",
    [
        "x inlet cam",
        "x inlet cam target",
        "x steering",
        "x roll",
        "x injection angle",
        "x idle share",
    ],
)
def test_other_angles_are_not_taken_for_an_advance(decoy: str) -> None:
    for seed in SEEDS[:4]:
        log, names = nameless(a_drive(seed), *CORE, also=(decoy,))
        roles = given(identify(log))
        assert roles.get("delivered advance") != names[decoy]
        assert roles.get("scheduled advance") != names[decoy]


def test_a_cam_and_its_target_resemble_each_other_and_are_no_advances() -> None:
    for seed in SEEDS[:4]:
        log, names = nameless(a_drive(seed), *CORE, also=("x inlet cam", "x inlet cam target"))
        cams = {names["x inlet cam"], names["x inlet cam target"]}
        assert not cams & set(given(identify(log)).values())


def test_a_shaft_behind_the_gearbox_is_not_the_engine() -> None:
    for seed in SEEDS[:5]:
        log, names = nameless(a_drive(seed), *CORE, also=("x prop shaft", "x turbo speed"))
        roles = given(identify(log))
        assert roles.get("engine speed", names["engine speed"]) == names["engine speed"]


def with_correction(d: Drive, **more: object) -> Calibration:
    """The drive's sheet with one correction that acts whenever the throttle is open."""
    sheet = sheet_of(d)
    correction = Correction.model_validate(
        {
            "id": "pull",
            "amount": -5.0,
            "when": ({"signal": "throttle position", "unit": "%", "above": 20.0},),
            **more,
        }
    )
    spark = sheet.spark.model_copy(update={"correction": (correction,)})
    return sheet.model_copy(update={"spark": spark})


def outcome(d: Drive) -> FloatArray:
    open_ = d.of("throttle position") > 20
    return np.round(d.of("scheduled advance") + np.where(open_, -5.0, 0.0), 2)


@pytest.mark.parametrize("seed", SEEDS[:4])
def test_a_single_advance_that_keeps_to_the_map_where_a_correction_acts_is_scheduled(
    seed: int,
) -> None:
    d = a_drive(seed)
    columns = {q: d.quantities[q] for q in CORE}
    log = make_log(columns | {"Timing": (d.of("scheduled advance"), "deg")}, d.times)
    roles = given(identify(log, sheets=[with_correction(d)]))
    assert roles.get("delivered advance") is None
    assert roles.get("scheduled advance", "Timing") == "Timing"


@pytest.mark.parametrize("seed", SEEDS[:4])
def test_a_single_advance_that_does_what_the_sheet_makes_of_it_is_delivered(seed: int) -> None:
    d = a_drive(seed)
    columns = {q: d.quantities[q] for q in CORE}
    log = make_log(columns | {"ch": (outcome(d), "deg")}, d.times)
    roles = given(identify(log, sheets=[with_correction(d)]))
    assert roles == roles | {"delivered advance": "ch"}
    assert "scheduled advance" not in roles


def test_one_cylinder_alone_is_not_taken_while_the_plain_one_is_there() -> None:
    d = a_drive(103)
    columns = {q: d.quantities[q] for q in CORE}
    columns |= {
        "Ignition cyl 1": d.quantities["x advance cylinder 1"],
        "Ignition cyl 2": d.quantities["x advance cylinder 2"],
        "Ignition": d.quantities["delivered advance"],
        "Knock retard": (-np.abs(d.of("x idle share")), "deg"),
    }
    roles = given(identify(make_log(columns, d.times)))
    assert roles["delivered advance"] == "Ignition"


def test_a_misleading_name_does_not_stand_against_unit_and_values() -> None:
    d = a_drive(104)
    columns = {q: d.quantities[q] for q in CORE if q != "manifold absolute pressure"}
    columns |= {
        "MAP": (np.ones(d.times.size), ""),
        "Timing": (d.times, "s"),
        "Advance": d.quantities["x steering"],
        "Coolant": d.quantities["x brake pressure"],
    }
    taken = set(given(identify(make_log(columns, d.times))).values())
    assert not taken & {"MAP", "Timing", "Advance", "Coolant"}


def temperatures(coolant: FloatArray, air: FloatArray) -> Roles:
    """A drive's roles with these under the names of coolant and intake air."""
    d = a_drive(105)
    columns = {q: d.quantities[q] for q in CORE}
    columns |= {"Coolant temp": (coolant, "°C"), "Inlet air temp": (air, "°C")}
    return identify(make_log(columns, d.times))


def warming(times: FloatArray, start: float) -> FloatArray:
    """A coolant from a start until the thermostat holds it at 88 °C: common practice, no source."""
    return np.round(88.0 - (88.0 - start) * np.exp(-times / 12.0))


@pytest.mark.parametrize("start", [15.0, 84.0])
def test_coolant_and_intake_air_under_each_others_name_are_asked_for(start: float) -> None:
    d = a_drive(105)
    inlet = np.round(22.0 + 0.08 * d.of("manifold absolute pressure"))
    crossed = temperatures(coolant=inlet, air=warming(d.times, start))
    for signal in ("engine coolant temperature", "intake air temperature"):
        assert crossed.get(signal) is None
        doubt = next(x for x in crossed.doubts if x.signal == signal)
        assert {c.name for c, _ in doubt.candidates} == {"Coolant temp", "Inlet air temp"}
    assert any("named the wrong way round" in note for note in crossed.notes)
    right = temperatures(coolant=warming(d.times, start), air=inlet)
    assert given(right)["engine coolant temperature"] == "Coolant temp"
    assert given(right)["intake air temperature"] == "Inlet air temp"
    assert right.notes == ()


def test_a_hot_intake_over_a_cold_coolant_that_both_go_on_warming_is_no_crossing() -> None:
    d = a_drive(105)
    soaked = np.round(40.0 + 0.12 * d.of("manifold absolute pressure") + 20.0 * np.sin(d.times))
    roles = temperatures(coolant=np.round(10.0 + d.times / 4.0), air=soaked)
    assert not any("wrong way round" in note for note in roles.notes)


def hot_air_sheet(d: Drive) -> Calibration:
    """The drive's sheet with a retard along the intake air: none at 48 °C, −9° at 70 °C."""
    sheet = sheet_of(d)
    axis = {"signal": "intake air temperature", "unit": "degC", "at": (48.0, 70.0)}
    correction = Correction.model_validate({"id": "air", "axes": (axis,), "values": (0.0, -9.0)})
    spark = sheet.spark.model_copy(update={"correction": (correction,)})
    return sheet.model_copy(update={"spark": spark})


def nameless_temperatures(d: Drive) -> tuple[Log, Calibration]:
    """Three temperatures under names that say nothing, one of which the sheet's retard follows."""
    t = d.times
    air = np.round(48.0 + 14.0 * np.sin(t / 7.0) * np.exp(-t / 60.0), 1)
    columns = {f"ch{i}": d.quantities[q] for i, q in enumerate(CORE)}
    columns |= {
        "ch20": (air, "°C"),
        "ch21": (np.round(52.0 + 9.0 * np.cos(t / 5.0)), "°C"),
        "ch22": (np.round(45.0 + t / 4.0), "°C"),
        "zax": d.quantities["scheduled advance"],
        "qub": (np.round(d.of("scheduled advance") + np.interp(air, [48, 70], [0, -9]), 1), "deg"),
    }
    return make_log(columns, t), hot_air_sheet(d)


@pytest.mark.parametrize("seed", SEEDS[:4])
def test_of_temperatures_that_nobody_can_name_the_sheets_correction_shows_the_right_one(
    seed: int,
) -> None:
    log, sheet = nameless_temperatures(a_drive(seed))
    assert given(identify(log)).get("intake air temperature") is None
    assert given(identify(log, sheets=[sheet])).get("intake air temperature") == "ch20"


@pytest.mark.parametrize("seed", SEEDS[:3])
def test_two_channels_by_which_a_sheet_comes_out_alike_are_not_told_apart_by_it(seed: int) -> None:
    log, sheet = nameless_temperatures(a_drive(seed))
    columns = {c.name: (log.values(c), c.unit) for c in log.channels if c != log.time}
    twice = make_log(columns | {"ch21": columns["ch20"]}, log.times(log.time))
    roles = identify(twice, sheets=[sheet])
    assert roles.get("intake air temperature") is None


@pytest.mark.parametrize("seed", SEEDS[:4])
def test_a_map_never_shows_a_unit_in_which_a_channel_cannot_be_its_signal(seed: int) -> None:
    """Blips of 18 %: as a fraction the plate would be open 18 times over, where a map holds its
    last value and so fits an advance that is another one's."""
    d = a_drive(seed)
    blips = np.where(d.times % 3.0 < 0.54, 17.8 * np.sin(np.pi * (d.times % 3.0) / 0.54), 0.0)
    d.put("throttle position", "%", np.round(blips, 1))
    d.axes = ("throttle position", "engine speed")
    d.points = ((0.0, 4.0, 10.0, 25.0, 50.0, 100.0), d.points[1])
    d.table = np.linspace(0.0, -8.0, 6)[:, None] + np.linspace(12.0, 36.0, len(d.points[1]))
    speed = np.interp(d.of("engine speed"), d.points[1], np.linspace(12.0, 36.0, len(d.points[1])))
    d.put("scheduled advance", "deg", np.round(speed - 8.0 * (blips > 0.2), 1))
    columns = {q.title(): d.quantities[q] for q in (*CORE, "accelerator position")}
    columns["Spark Base"] = d.quantities["scheduled advance"]
    columns["Spark Used"] = d.quantities["scheduled advance"]
    roles = identify(make_log(columns, d.times), sheets=[sheet_of(d)])
    assert roles.by_signal["throttle position"].scale == 1.0
