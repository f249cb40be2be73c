"""Every check has a case that it finds, a near miss that it must not flag, and a page."""

from importlib import import_module
from pathlib import Path
from typing import Any

import pytest

from tests.audit.sheetlike import (
    CELLS,
    COOLANT,
    INTAKE,
    OIL,
    SPEED,
    THROTTLE,
    audited,
    changed,
    found,
    map_of,
    sheet,
)
from tuneledger.audit.model import SEVERITIES
from tuneledger.audit.registry import CHECKS, load, module_of
from tuneledger.calibrations.model import Calibration

WET = {"channel": "Wet switch", "is": "on"}
GOVERNED = {"signal": "idle speed target", "minus": "engine speed", "unit": "rpm"}
IDLE = [THROTTLE | {"below": 2.0, "release": 3.0}, SPEED | {"below": 1600.0, "release": 1700.0}]


def amount(degrees: float, *when: dict[str, Any], **keys: Any) -> dict[str, Any]:
    return {"amount": degrees, "when": list(when)} | keys


def along(
    reading: dict[str, Any], at: list[float], values: list[Any], **keys: Any
) -> dict[str, Any]:
    return {"axes": [reading | {"at": at}], "values": values} | keys


def governor(
    values: list[float], reading: dict[str, Any] = GOVERNED, **keys: Any
) -> dict[str, Any]:
    return (
        along(reading, [-200.0, -100.0, 0.0, 100.0, 200.0], values, reason="idle speed", when=IDLE)
        | keys
    )


def guard(degrees: float, **keys: Any) -> dict[str, Any]:
    return amount(degrees, OIL | {"below": 120.0, "held": 0.3}, reason="sensor guard", **keys)


def revision(name: str, *corrections: dict[str, Any], **parts: Any) -> Calibration:
    return sheet(*corrections, **parts).model_copy(update={"revision": name})


HOT_AIR = along(INTAKE, [20.0, 40.0, 60.0, 80.0], [0.0, 0.0, -2.0, -5.0], reason="air temperature")

# check → (sheets that it finds, sheets that it must not flag), each with why
FINDS: dict[str, dict[str, list[Calibration]]] = {
    "guard-adds": {
        "a sign turned round": [sheet(guard(8.0))],
        "a fixed advance above some cells": [sheet(guard(10.0, effect="replace"))],
        "a floor under the sum": [sheet(guard(20.0, effect="at least"))],
        "knock control that may add": [sheet({"reason": "knock", "range": [-8.0, 1.0]})],
    },
    "hot-adds": {
        "a table typed from the wrong end": [
            sheet(along(INTAKE, [20.0, 60.0, 80.0], [0.0, 2.0, 5.0]))
        ],
        "in Fahrenheit too": [
            sheet(
                along(
                    {"signal": "engine coolant temperature", "unit": "degF"},
                    [100.0, 180.0, 220.0],
                    [0.0, 0.0, 2.0],
                )
            )
        ],
        "an amount above a hot threshold": [
            sheet(
                amount(
                    2.0, COOLANT | {"above": 95.0, "release": 90.0}, reason="coolant temperature"
                )
            )
        ],
    },
    "idle-sign": {
        "too fast is given more": [sheet(governor([5.0, 3.0, 0.0, -3.0, -5.0]))],
        "speed minus target with the values of target minus speed": [
            sheet(
                governor(
                    [-5.0, -3.0, 0.0, 3.0, 5.0],
                    {"signal": "engine speed", "minus": "idle speed target", "unit": "rpm"},
                )
            )
        ],
        "one value out of order": [sheet(governor([-5.0, -3.0, -4.0, 3.0, 5.0]))],
    },
    "band": {
        "two small raises that can meet": [
            sheet(
                along(COOLANT, [20.0, 60.0], [2.0, 0.0]),
                along(INTAKE, [0.0, 30.0], [2.0, 0.0]),
                audit={"band": {"above_map": 3.0}},
            )
        ],
        "a retard below the lowest": [sheet(amount(-4.0, WET), audit={"band": {"lowest": 3.0}})],
    },
    "raised": {
        "a retard eased that always acts": [
            revision("A", amount(-4.0)),
            revision("B", amount(-2.0)),
        ],
        "a cell": [revision("A"), revision("B", map=map_of(changed({(4, 5): 18.0})))],
    },
    "never-true": {
        "Fahrenheit against a Celsius signal": [sheet(amount(-4.0, COOLANT | {"above": 212.0}))],
        "it waits for one that is switched off": [
            sheet(
                amount(-1.0, WET, enabled=False), amount(-2.0, {"correction": "c0", "is": "active"})
            )
        ],
        "inside any and since": [
            sheet(
                amount(-1.0, {"any": [WET, {"since": THROTTLE | {"above": 120.0}, "below": 3.0}]})
            )
        ],
    },
    "contradiction": {
        "above and below": [
            sheet(amount(-4.0, THROTTLE | {"above": 60.0}, THROTTLE | {"below": 40.0}))
        ],
        "in two units": [
            sheet(
                amount(
                    -4.0,
                    COOLANT | {"above": 60.0},
                    {"signal": "engine coolant temperature", "unit": "degF", "below": 100.0},
                )
            )
        ],
        "with what another correction asks": [
            sheet(
                amount(-1.0, THROTTLE | {"above": 60.0}),
                amount(-2.0, {"correction": "c0", "is": "active"}, THROTTLE | {"below": 50.0}),
            )
        ],
    },
    "no-such-advance": {
        "a lost decimal point in the map": [sheet(map=map_of(changed({(0, 0): -800.0})))],
        "a lost decimal point in an amount": [sheet(amount(-80.0, WET))],
        "a fixed advance beyond all": [sheet(amount(95.0, WET, effect="replace"))],
    },
    "unit-slip": {
        "Fahrenheit marked Celsius": [
            sheet(along(COOLANT, [32.0, 104.0, 176.0, 212.0], [3.0, 1.0, 0.0, -3.0]))
        ],
        "psi marked kPa": [sheet(map=map_of(down={"at": [4.0, 9.0, 14.5, 23.0, 32.0]}))],
        "shares marked percent": [sheet(along(THROTTLE, [0.0, 0.5, 1.0], [0.0, -1.0, -2.0]))],
    },
    "limit-clips-map": {
        "a cell above": [sheet(limits={"highest": 33.0})],
        "a cell below": [sheet(limits={"lowest": 7.0})],
    },
    "idle-authority": {
        "all but zero": [sheet(governor([-0.2, 0.0, 0.0, 0.0, 0.2]))],
        "one side only": [sheet(governor([0.0, 0.0, 0.0, 3.0, 5.0]))],
    },
    "idle-range": {
        "far above what the map has around idle": [sheet(governor([-8.0, -4.0, 0.0, 12.0, 24.0]))],
        "far past top dead centre": [sheet(governor([-18.0, -9.0, 0.0, 3.0, 5.0]))],
    },
    "limit-works": {
        "raises that pile up": [
            sheet(
                amount(3.0, WET), amount(3.0, COOLANT | {"below": 20.0}), limits={"highest": 36.0}
            )
        ],
    },
    "flicker": {
        "a bare threshold": [sheet(amount(-4.0, THROTTLE | {"above": 55.0}))],
        "a bare threshold inside any": [
            sheet(amount(-4.0, {"any": [WET, THROTTLE | {"above": 55.0}]}))
        ],
        "a table that begins with a step": [
            sheet(along(COOLANT, [90.0, 110.0], [-3.0, -6.0], when=[COOLANT | {"above": 90.0}]))
        ],
    },
    "same-cause": {
        "the same heat answered twice": [
            sheet(HOT_AIR, along(INTAKE, [40.0, 70.0], [0.0, -4.0], reason="air temperature"))
        ],
    },
    "unnamed": {
        "the number of an input": [
            sheet(amount(-3.0, {"channel": "AIN 3", "above": 2.5, "release": 2.4}))
        ],
        "a signal read as a channel": [
            sheet(amount(-3.0, {"channel": "Engine Speed", "above": 2500, "release": 2400}))
        ],
    },
    "map-outlier": {
        "a slip of the finger": [sheet(map=map_of(changed({(2, 2): 31.0})))],
        "at an edge": [sheet(map=map_of(changed({(4, 3): 6.0})))],
    },
    "map-cliff": {
        "a step within a tenth of the axis": [
            sheet(
                map=map_of(
                    [[10.0, 12.0, 26.0, 28.0]] * 5, across={"at": [800.0, 3000.0, 3250.0, 7000.0]}
                )
            )
        ],
    },
    "axis-short": {"below the redline": [sheet(engine={"redline_rpm": 7600.0})]},
    "unsaid": {
        "nothing is noted": [revision("A", amount(-4.0, WET)), revision("B", amount(-5.0, WET))],
        "something else is noted": [
            revision("A", amount(-4.0, WET, title="Rain")),
            revision("B", amount(-5.0, WET, title="Rain"), notes="Two cells raised"),
        ],
    },
    "moves": {
        "in every cell": [sheet(amount(-4.0, WET))],
        "beyond the points of the map only": [
            sheet(amount(-5.0, SPEED | {"above": 7200.0}, effect="replace"))
        ],
    },
    "asleep": {"filled and off": [sheet(amount(-11.0, WET, enabled=False))]},
    "does-nothing": {"zeros": [sheet(along(COOLANT, [20.0, 80.0, 100.0], [0.0, 0.0, 0.0]))]},
    "always-true": {
        "all that a throttle can be": [
            sheet(amount(-4.0, WET, THROTTLE | {"between": [0.0, 100.0]}))
        ]
    },
    "repeated": {
        "the weaker of two": [
            sheet(amount(-4.0, SPEED | {"above": 3500.0}, SPEED | {"above": 3000.0}))
        ],
        "the same twice": [sheet(amount(-4.0, WET, WET))],
    },
    "unknown-cells": {
        "in the map": [sheet(map=map_of(changed({(4, 5): "?"})))],
        "in a correction": [sheet(along(COOLANT, [20.0, 90.0, 110.0], [0.0, 0.0, "?"]))],
        "knock control without a range": [sheet({"logged_as": "Knock retard", "reason": "knock"})],
    },
    "changed": {
        "switched on": [
            revision("A", amount(-4.0, WET, enabled=False)),
            revision("B", amount(-4.0, WET)),
        ],
        "gone": [revision("A", amount(-4.0, WET)), revision("B")],
        "limits": [revision("A"), revision("B", limits={"highest": 40.0})],
    },
}

LEAVES: dict[str, dict[str, list[Calibration]]] = {
    "guard-adds": {
        "it takes": [sheet(guard(-8.0))],
        "positive only where its conditions never let it": [
            sheet(
                along(
                    OIL,
                    [100.0, 140.0, 200.0],
                    [-8.0, 0.0, 4.0],
                    reason="sensor guard",
                    when=[OIL | {"below": 120.0}],
                )
            )
        ],
        "a fixed advance below every cell in which it can act": [
            sheet(amount(4.0, OIL | {"below": 120.0}, reason="sensor guard", effect="replace"))
        ],
        "no guard at all": [sheet(amount(3.0, WET, reason="driver switch"))],
        "switched off": [sheet(guard(8.0, enabled=False))],
    },
    "hot-adds": {
        "it adds while cold": [
            sheet(along(COOLANT, [0.0, 40.0, 70.0], [4.0, 2.0, 0.0], reason="coolant temperature"))
        ],
        "at a closed throttle, to cool the engine": [
            sheet(along(COOLANT, [90.0, 110.0], [0.0, 3.0], when=[THROTTLE | {"below": 3.0}]))
        ],
        "a temperature that is only a permission": [
            sheet(amount(2.0, WET, COOLANT | {"above": 60.0}, reason="driver switch"))
        ],
        "it takes": [sheet(HOT_AIR)],
    },
    "idle-sign": {
        "as it should be": [sheet(governor([-5.0, -3.0, 0.0, 3.0, 5.0]))],
        "speed minus target, turned round": [
            sheet(
                governor(
                    [5.0, 3.0, 0.0, -3.0, -5.0],
                    {"signal": "engine speed", "minus": "idle speed target", "unit": "rpm"},
                )
            )
        ],
    },
    "band": {
        "two raises that never meet": [
            sheet(
                along(COOLANT, [20.0, 60.0], [2.0, 0.0]),
                along(COOLANT, [60.0, 100.0], [0.0, 2.0]),
                audit={"band": {"above_map": 2.0}},
            )
        ],
        "no band": [sheet(amount(9.0, WET))],
    },
    "raised": {
        "a retard eased that may not act either way": [
            revision("A", amount(-4.0, WET)),
            revision("B", amount(-2.0, WET)),
        ],
        "a cell lowered": [revision("A"), revision("B", map=map_of(changed({(4, 5): 16.0})))],
    },
    "never-true": {
        "just within what it can be": [sheet(amount(-4.0, COOLANT | {"above": 149.0}))],
        "in a correction that is switched off": [
            sheet(amount(-4.0, COOLANT | {"above": 212.0}, enabled=False))
        ],
    },
    "contradiction": {
        "they meet in between": [
            sheet(amount(-4.0, THROTTLE | {"above": 40.0}, THROTTLE | {"below": 60.0}))
        ],
        "one of them by hysteresis": [
            sheet(
                amount(
                    -4.0, THROTTLE | {"above": 60.0, "release": 30.0}, THROTTLE | {"below": 40.0}
                )
            )
        ],
        "one of them lingers": [
            sheet(
                amount(-4.0, THROTTLE | {"above": 60.0, "linger": 2.0}, THROTTLE | {"below": 40.0})
            )
        ],
    },
    "no-such-advance": {
        "what SAE J1979 can show": [sheet(map=map_of(changed({(0, 0): 63.5, (0, 1): -30.0})))],
        "a cut": [sheet(amount(-40.0, WET))],
        "a cell that nobody knows": [sheet(map=map_of(changed({(0, 0): "?"})))],
    },
    "unit-slip": {
        "Fahrenheit marked Fahrenheit": [
            sheet(
                along(
                    {"signal": "engine coolant temperature", "unit": "degF"},
                    [32.0, 104.0, 176.0, 212.0],
                    [3.0, 1.0, 0.0, -3.0],
                )
            )
        ],
        "a hot Celsius axis": [sheet(along(COOLANT, [60.0, 90.0, 120.0], [0.0, 0.0, -3.0]))],
        "a vacuum axis that ends at the outside air": [
            sheet(map=map_of(down={"at": [20.0, 40.0, 60.0, 80.0, 100.0]}))
        ],
    },
    "limit-clips-map": {
        "limits at the ends of the map": [sheet(limits={"highest": 34.0, "lowest": 6.0})]
    },
    "idle-authority": {"both ways": [sheet(governor([-5.0, -3.0, 0.0, 3.0, 5.0]))]},
    "idle-range": {"within what the map has": [sheet(governor([-6.0, -3.0, 0.0, 3.0, 5.0]))]},
    "limit-works": {
        "raises that exclude each other": [
            sheet(
                amount(2.0, COOLANT | {"above": 60.0}),
                amount(2.0, COOLANT | {"below": 20.0}),
                limits={"highest": 36.0},
            )
        ],
        "the map itself, which is told elsewhere": [sheet(limits={"highest": 33.0})],
    },
    "flicker": {
        "with a release": [sheet(amount(-4.0, THROTTLE | {"above": 55.0, "release": 50.0}))],
        "with a ramp": [sheet(amount(-4.0, THROTTLE | {"above": 55.0}, ramp=20.0))],
        "held": [sheet(amount(-4.0, THROTTLE | {"above": 55.0, "held": 0.3}))],
        "a switch": [sheet(amount(-4.0, WET))],
        "a table that begins at zero": [
            sheet(along(COOLANT, [90.0, 110.0], [0.0, -6.0], when=[COOLANT | {"above": 90.0}]))
        ],
        "half a degree": [sheet(amount(-0.5, THROTTLE | {"above": 55.0}))],
        "a gear": [sheet(amount(-4.0, {"signal": "gear", "below": 3}))],
    },
    "same-cause": {
        "other causes": [
            sheet(HOT_AIR, along(COOLANT, [90.0, 110.0], [0.0, -4.0], reason="coolant temperature"))
        ],
        "never at once": [
            sheet(
                HOT_AIR | {"when": [WET]},
                HOT_AIR | {"when": [{"channel": "Wet switch", "is": "off"}]},
            )
        ],
        "one takes while the other adds": [
            sheet(HOT_AIR, along(INTAKE, [0.0, 20.0], [2.0, 0.0], reason="air temperature"))
        ],
    },
    "unnamed": {
        "a switch with a name": [sheet(amount(-3.0, WET))],
        "a name with a number": [
            sheet(amount(-3.0, {"channel": "Exhaust gas 1", "above": 900, "release": 880}))
        ],
        "a signal": [sheet(amount(-3.0, SPEED | {"above": 2500, "release": 2400}))],
    },
    "map-outlier": {
        "a smooth map": [sheet()],
        "a row that steps as a whole": [
            sheet(
                map=map_of(
                    [CELLS[0], CELLS[1], CELLS[2], [4.0, 6.0, 11.0, 15.0, 17.0, 17.0], CELLS[4]]
                )
            )
        ],
        "half the limit": [sheet(map=map_of(changed({(2, 2): 22.5})))],
    },
    "map-cliff": {
        "the same step over a wide gap": [
            sheet(
                map=map_of(
                    [[10.0, 12.0, 26.0, 28.0]] * 5, across={"at": [800.0, 3000.0, 5000.0, 7000.0]}
                )
            )
        ],
        "a smooth map": [sheet()],
    },
    "axis-short": {
        "it ends at the redline": [sheet(engine={"redline_rpm": 7000.0})],
        "none is named": [sheet(engine={})],
    },
    "unsaid": {
        "it is noted": [
            revision("A", amount(-4.0, WET, title="Rain")),
            revision("B", amount(-5.0, WET, title="Rain"), notes="More for the rain"),
        ],
        "nothing changed": [revision("A", amount(-4.0, WET)), revision("B", amount(-4.0, WET))],
    },
    "moves": {
        "it can never act": [sheet(amount(-4.0, COOLANT | {"above": 212.0}))],
        "switched off": [sheet(amount(-4.0, WET, enabled=False))],
    },
    "asleep": {
        "empty and off": [sheet(amount(0.0, WET, enabled=False))],
        "on": [sheet(amount(-4.0, WET))],
    },
    "does-nothing": {
        "zero in part": [sheet(along(COOLANT, [20.0, 80.0, 100.0], [0.0, 0.0, -1.0]))]
    },
    "always-true": {
        "nearly all that a throttle can be": [
            sheet(amount(-4.0, THROTTLE | {"between": [0.0, 99.0]}))
        ]
    },
    "repeated": {
        "two sides of a window": [
            sheet(amount(-4.0, SPEED | {"above": 3000.0}, SPEED | {"below": 3500.0}))
        ],
        "two quantities": [
            sheet(amount(-4.0, SPEED | {"above": 3000.0}, THROTTLE | {"above": 30.0}))
        ],
        "the weaker one holds on by hysteresis": [
            sheet(
                amount(
                    -4.0, SPEED | {"above": 3500.0, "release": 2500.0}, SPEED | {"above": 3000.0}
                )
            )
        ],
    },
    "unknown-cells": {"all known": [sheet(HOT_AIR, {"reason": "knock", "range": [-8.0, 0.0]})]},
    "changed": {
        "nothing": [
            revision("A", amount(-4.0, WET)),
            revision("B", amount(-4.0, WET), notes="only words"),
        ],
        "one sheet": [sheet(amount(-4.0, WET))],
    },
}


def cases(of: dict[str, dict[str, list[Calibration]]]) -> list[Any]:
    return [
        pytest.param(name, sheets, id=f"{name}: {why}")
        for name, by_why in of.items()
        for why, sheets in by_why.items()
    ]


@pytest.mark.parametrize(("name", "sheets"), cases(FINDS))
def test_it_finds(name: str, sheets: list[Calibration]) -> None:
    told = found(name, *sheets)
    assert told
    for finding in told:
        assert finding.severity in SEVERITIES
        assert "fault of its own" not in finding.says
        assert finding.says.endswith((".", "?"))
        assert finding.places
        assert finding.do


@pytest.mark.parametrize(("name", "sheets"), cases(LEAVES))
def test_a_near_miss_is_left_alone(name: str, sheets: list[Calibration]) -> None:
    assert [f.says for f in found(name, *sheets)] == []


def test_every_check_has_a_case_a_near_miss_and_a_page() -> None:
    assert set(FINDS) == set(LEAVES) == set(CHECKS)
    folder = Path(str(import_module("tuneledger.audit.checks").__file__)).parent
    files = {path.stem.replace("_", "-") for path in folder.glob("*.py")} - {"--init--"}
    assert files == set(CHECKS), "one file for each check, one line in the registry"
    for name in CHECKS:
        page = import_module(module_of(name)).__doc__ or ""
        parts = ("What it finds", "Why it matters", "Example", "What to do", "When to ignore it")
        assert [part for part in parts if f"**{part}.**" not in page] == [], name
        assert callable(load(name))


def test_a_healthy_sheet_has_nothing_to_ask() -> None:
    healthy = sheet(
        HOT_AIR,
        guard(-8.0),
        governor([-5.0, -3.0, 0.0, 3.0, 5.0]),
        amount(-4.0, WET, reason="driver switch", ramp=40.0),
        limits={"lowest": -30.0, "highest": 40.0},
    )
    result = audited(healthy)
    assert result.open == ()
    assert result.exit_status == 0
    assert {f.check for f in result.findings} == {"moves"}


def test_a_check_that_breaks_is_a_finding_and_the_others_go_on(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    def broken(_: object) -> None:
        raise RuntimeError("no such cell")

    monkeypatch.setattr("tuneledger.audit.checks.flicker.check", broken)
    result = audited(sheet(amount(-4.0, WET)))
    (told,) = (f for f in result.findings if f.check == "flicker")
    assert "no such cell" in told.says
    assert {f.check for f in result.findings} == {"flicker", "moves"}


# ---- what the findings say


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
