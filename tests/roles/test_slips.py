"""An advance that does not count in degrees of the crank: a sheet shows how it does.

A degree is π/180 rad (NIST SP 811, B.8); the camshaft turns half as far as the crank; PID 0x0E of
SAE J1979 sends the advance as A/2 − 64.
"""

from collections.abc import Callable

import numpy as np
import pytest

from tests.explain.labelled import written
from tests.roles.dressing import make_log, sheet_of
from tests.roles.drives import Drive
from tests.roles.test_relations import CORE, a_drive, outcome, with_correction
from tests.runs import along, charge_air, climb, sheet
from tuneledger.arrays import FloatArray
from tuneledger.logs.model import Log
from tuneledger.roles import RolesFile, identify

BASE, USED = "Spark Base", "Spark Used"
DEG = (0.0, -1.0, -4.0, -7.0)
SEEDS = range(100, 104)
Count = Callable[[FloatArray], FloatArray]


def radians(advance: FloatArray) -> FloatArray:
    return np.round(np.radians(advance), 4)


def tenths(advance: FloatArray) -> FloatArray:
    return np.rint(10.0 * advance)


def of_the_camshaft(advance: FloatArray) -> FloatArray:
    return np.round(advance / 2.0, 2)


def sent_counts(advance: FloatArray) -> FloatArray:
    return np.rint(2.0 * (advance + 64.0))


WAYS = {
    "rad": (radians, np.degrees(1.0), 0.0),
    "tenths": (tenths, 0.1, 0.0),
    "camshaft": (of_the_camshaft, 2.0, 0.0),
    "counts": (sent_counts, 0.5, -64.0),
}


def logged(d: Drive, count: Count, *, label: str = "", scheduled: bool = True) -> Log:
    columns = {q.title(): d.quantities[q] for q in CORE}
    if scheduled:
        columns[BASE] = (count(d.of("scheduled advance")), label)
    return make_log(columns | {USED: (count(outcome(d)), label)}, d.times)


@pytest.mark.parametrize("scheduled", [True, False])
@pytest.mark.parametrize("way", WAYS)
@pytest.mark.parametrize("seed", SEEDS)
def test_a_supplied_sheet_shows_how_an_advance_counts(seed: int, way: str, scheduled: bool) -> None:
    d = a_drive(seed)
    count, scale, offset = WAYS[way]
    roles = identify(logged(d, count, scheduled=scheduled), sheets=[with_correction(d)])
    role = roles.by_signal["delivered advance"]
    assert (role.channel.name, role.relabelled) == (USED, None)
    assert (role.scale, role.offset) == pytest.approx((scale, offset))
    assert any(f"{USED}: without a label, and" in note for note in roles.notes)
    if scheduled:
        assert roles.by_signal["scheduled advance"].channel.name == BASE
        assert roles.by_signal["scheduled advance"].scale == pytest.approx(scale)


@pytest.mark.parametrize("seed", SEEDS)
def test_degrees_stay_degrees_whatever_the_sheet_says(seed: int) -> None:
    d, other = a_drive(seed), a_drive(seed + 1)
    for one in (sheet_of(d), sheet_of(other)):
        log = logged(d, lambda advance: advance)
        for role in identify(log, sheets=[one]).by_signal.values():
            assert not role.signal.endswith("advance") or role.scale == 1.0


@pytest.mark.parametrize("label", ["", "deg"])
@pytest.mark.parametrize("seed", SEEDS)
def test_without_a_sheet_an_advance_within_one_degree_is_used_as_none(
    seed: int, label: str
) -> None:
    """The sheet of another car bears out no more than none does."""
    d = a_drive(seed)
    for sheets in ([], [sheet_of(a_drive(seed + 1))]):
        roles = identify(logged(d, radians, label=label), sheets=sheets)
        assert roles.get("delivered advance") is None
        found = {one.signal: one for one in roles.misfits}
        assert {"scheduled advance", "delivered advance"} <= set(found)
        assert found["delivered advance"].unit == "rad"
        assert "its unit is not known" in found["delivered advance"].says


@pytest.mark.parametrize("seed", SEEDS)
def test_an_advance_labelled_or_stated_in_radians_is_read_so(seed: int) -> None:
    d = a_drive(seed)
    told = RolesFile(units={BASE: "rad", USED: "rad"})
    for roles in (
        identify(logged(d, radians, label="rad")),
        identify(logged(d, radians), roles_file=told),
    ):
        assert roles.by_signal["delivered advance"].unit == "rad"
        assert roles.misfits == ()


def test_two_advances_in_an_unknown_unit_never_agree() -> None:
    in_radians = {"Adv asked": radians, "Adv given": radians}
    bare = dict.fromkeys(in_radians, "")
    statement = written(climb(), change=in_radians, units=bare)
    assert (statement.verdict, statement.exit_status) == ("cannot tell", 3)
    assert '[units] "Adv given" = "rad"' in statement.headline


@pytest.mark.parametrize("label", ["", "deg"])
def test_what_the_car_did_is_told_in_degrees(label: str) -> None:
    run = climb()
    run = run.post("charge-air", along(run, "intake air temperature", (20, 40, 60, 80), DEG))
    in_radians = {"Adv asked": radians, "Adv given": radians}
    made = sheet("rev-d.toml", "D", [charge_air(DEG)])
    statement = written(run, made, change=in_radians, units=dict.fromkeys(in_radians, label))
    (cause,) = [c for c in statement.causes if c.kind == "correction"]
    assert cause.correction == "charge-air"
    assert cause.degrees == pytest.approx(float(run.entries[0].values.mean()), abs=0.2)
    assert statement.running is not None
    assert statement.running.best == "D"
    wrong = [c.says for c in statement.causes if c.kind == "unit"]
    assert len(wrong) == (2 if label else 0)
    assert all("those of rad: read as labelled" in says for says in wrong)


@pytest.mark.parametrize("step", [0.5, 1.0])
def test_the_step_of_an_advance_in_radians_is_known_in_degrees(step: float) -> None:
    """Half degrees that were rounded to four decimals of a radian are still half degrees."""

    def coarse(advance: FloatArray) -> FloatArray:
        return radians(np.round(advance / step) * step)

    in_radians = {"Adv asked": coarse, "Adv given": coarse}
    statement = written(
        climb(), sheet("rev-d.toml", "D"), change=in_radians, units=dict.fromkeys(in_radians, "")
    )
    assert statement.tolerance_deg == pytest.approx(max(0.3, step), abs=0.002)
    assert statement.verdict == "agrees"
