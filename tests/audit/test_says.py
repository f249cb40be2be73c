"""What findings say, and in which order."""

from pathlib import Path

from tests.audit.parts import WET, along, amount, guard, revision
from tests.audit.sheetlike import (
    COOLANT,
    SPEED,
    THROTTLE,
    audited,
    changed,
    found,
    map_of,
    sheet,
)


def test_the_contradiction_names_the_pair_and_not_what_is_beside_it() -> None:
    (told,) = found(
        "contradiction",
        sheet(amount(-4.0, WET, THROTTLE | {"above": 60.0}, THROTTLE | {"below": 40.0})),
    )
    assert told.places == (
        "rev-a.toml:spark.correction[0].when[1]",
        "rev-a.toml:spark.correction[0].when[2]",
    )


def test_an_outlier_is_told_once_with_its_cell() -> None:
    (told,) = found("map-outlier", sheet(map=map_of(changed({(2, 2): 31.0}))))
    assert told.places == ("rev-a.toml:spark.map.values[2][2]",)
    assert "100 kPa, 3000 rpm" in told.says


def test_a_map_that_the_highest_limit_cuts_is_no_sum_taken_down() -> None:
    high = map_of(changed({(2, 2): 44.0}))
    limits = {"lowest": -8.0, "highest": 38.0}
    assert not found("limit-works", sheet(amount(-3.0), map=high, limits=limits))
    assert found("limit-clips-map", sheet(amount(-3.0), map=high, limits=limits))


def test_what_moves_says_where_and_by_how_much() -> None:
    fast = amount(-6.0, SPEED | {"above": 4000.0, "release": 3900.0}, title="Fast")
    (told,) = found("moves", sheet(fast))
    assert told.says == (
        "Fast (c0) moves the advance by −6.0° at 4500 rpm and more, while engine speed is above "
        "4000 rpm until below 3900 again."
    )


def test_a_danger_comes_first_whatever_else_is_found() -> None:
    result = audited(sheet(amount(-4.0, THROTTLE | {"above": 55.0}), guard(1.0)))
    assert result.findings[0].check == "guard-adds"


def test_revisions_stand_in_the_order_in_which_they_were_saved(tmp_path: Path) -> None:
    from tuneledger.audit.job import audit_files
    from tuneledger.calibrations.write import to_toml

    for name, day in (("B", "2026-05-03"), ("A", "2026-04-01T10:00:00")):
        text = to_toml(revision(name, map=map_of(changed({(0, 0): 15.0}) if name == "B" else None)))
        (tmp_path / f"{name}.toml").write_text(
            text.replace("revision = ", f"saved = {day}\nrevision = ", 1)
        )
    result = audit_files([tmp_path / "B.toml", tmp_path / "A.toml"])
    assert [s.calibration.revision for s in result.sheets] == ["A", "B"]
    assert any("changed by +1.0° in 1 cell (30 kPa, 800 rpm)" in f.says for f in result.findings)


def test_a_governor_may_go_as_far_as_is_ordinary_in_a_log() -> None:
    from tuneledger.audit.checks.idle_range import AUTHORITY_DEG
    from tuneledger.explain.expected import IDLE_AUTHORITY_DEG

    assert AUTHORITY_DEG == IDLE_AUTHORITY_DEG


def test_what_to_do_about_an_axis_depends_on_what_is_wrong_with_it() -> None:
    celsius = along(COOLANT, [32.0, 104.0, 176.0, 212.0], [3.0, 1.0, 0.0, -3.0])
    (unit,) = found("unit-slip", sheet(celsius))
    assert unit.do.startswith("Correct the unit, not the points")
    (never,) = found(
        "unit-slip", sheet(along({"signal": "measured lambda"}, [10.0, 12.5, 14.7], [0, 0, -3.0]))
    )
    assert "can never be" in never.says
    assert "the signal, the unit or the points" in never.do
    (gauge,) = found("unit-slip", sheet(map=map_of(down={"at": [-70.0, -40.0, 0.0, 60.0, 120.0]})))
    assert "barometric pressure" in gauge.do
