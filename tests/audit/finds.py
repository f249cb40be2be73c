"""For every check the sheets that it finds something in, each with what is wrong."""

from tests.audit.parts import HOT_AIR, WET, along, amount, governor, guard, revision
from tests.audit.sheetlike import (
    CELLS,
    COOLANT,
    INTAKE,
    OIL,
    SPEED,
    THROTTLE,
    changed,
    map_of,
    sheet,
)
from tuneledger.calibrations.model import Calibration

# check → (sheets that it finds, sheets that it must not flag), each with why
FINDS: dict[str, dict[str, list[Calibration]]] = {
    "guard-adds": {
        "a sign turned round": [sheet(guard(8.0))],
        "a fixed advance above some cells": [sheet(guard(10.0, effect="replace"))],
        "a floor under the sum": [sheet(guard(20.0, effect="at least"))],
        "knock control that may add": [sheet({"reason": "knock", "range": [-8.0, 1.0]})],
    },
    "guard-high": {
        "below turned into above": [
            sheet(amount(-8.0, OIL | {"above": 160.0, "held": 0.2}, reason="sensor guard"))
        ],
        "of fuel, in another unit, beside a speed": [
            sheet(
                amount(
                    -6.0,
                    {"signal": "fuel pressure", "unit": "bar", "above": 2.5, "release": 2.4},
                    SPEED | {"above": 3000.0, "release": 2900.0},
                    reason="sensor guard",
                )
            )
        ],
    },
    "hot-adds": {
        "a retard typed from the wrong end": [
            sheet(
                along(COOLANT, [100.0, 106.0, 114.0], [-6.0, -2.0, 0.0]),
            )
        ],
        "two values of a retard in each other's place": [
            sheet(along(INTAKE, [20.0, 44.0, 52.0, 60.0], [0.0, 0.0, -3.0, -1.0]))
        ],
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
    "never-ends": {
        "a warm-up while the engine turns": [
            sheet(amount(3.0, SPEED | {"above": 400.0}, until=COOLANT | {"above": 70.0}))
        ],
        "it ends where it begins": [
            sheet(amount(-3.0, THROTTLE | {"above": 50.0}, until=THROTTLE | {"above": 80.0}))
        ],
        "it acts all the time": [sheet(amount(2.0, until=COOLANT | {"above": 70.0}))],
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
        "Celsius marked Fahrenheit": [
            sheet(
                along(
                    {"signal": "engine coolant temperature", "unit": "degF"},
                    [0.0, 40.0, 80.0],
                    [3.0, 1.0, 0.0],
                )
            )
        ],
        "pressures above the outside air": [
            sheet(map=map_of(down={"at": [-70.0, -40.0, 0.0, 60.0, 120.0]}))
        ],
        "an air-fuel ratio in the place of lambda": [
            sheet(along({"signal": "measured lambda"}, [10.0, 12.5, 14.7], [0.0, 0.0, -3.0]))
        ],
        "a guard in psi marked kPa": [sheet(guard(-8.0, when=[OIL | {"below": 23.0}]))],
        "a guard in bar marked kPa": [sheet(guard(-8.0, when=[OIL | {"below": 1.6}]))],
        "a guard in kPa marked psi": [
            sheet(guard(-8.0, when=[{"signal": "oil pressure", "unit": "psi", "below": 160.0}]))
        ],
        "too low for oil of an engine that turns": [
            sheet(guard(-8.0, when=[OIL | {"below": 30.0}, SPEED | {"above": 3500.0}]))
        ],
        "a threshold in shares marked percent": [
            sheet(amount(-4.0, WET, THROTTLE | {"above": 0.4, "release": 0.35}))
        ],
        "thousands of revolutions marked rpm": [
            sheet(amount(-4.0, {"any": [WET, SPEED | {"above": 3.5, "release": 3.4}]}))
        ],
        "shares marked percent": [sheet(along(THROTTLE, [0.0, 0.5, 1.0], [0.0, -1.0, -2.0]))],
    },
    "limit-clips-map": {
        "a cell above": [sheet(limits={"highest": 33.0})],
        "a cell below": [sheet(limits={"lowest": 7.0})],
    },
    "limit-early": {
        "a table over engine speed": [
            sheet(along(SPEED, [4000.0, 4200.0, 4400.0], [0.0, -6.0, -15.0], reason="rev limit"))
        ],
        "a digit": [
            sheet(amount(-5.0, SPEED | {"above": 4000.0}, reason="rev limit", effect="replace"))
        ],
        "a soft one": [
            sheet(
                amount(-8.0, SPEED | {"above": 5000.0, "release": 4900.0}, reason="rev limit"),
                engine={"redline_rpm": 7000.0},
            )
        ],
    },
    "rows-swapped": {
        "in the middle": [
            sheet(map=map_of([CELLS[0], CELLS[2], CELLS[1], CELLS[3], CELLS[4]])),
        ],
        "the last two": [
            sheet(map=map_of([CELLS[0], CELLS[1], CELLS[2], CELLS[4], CELLS[3]])),
        ],
    },
    "idle-authority": {
        "all but zero": [sheet(governor([-0.2, 0.0, 0.0, 0.0, 0.2]))],
        "one side only": [sheet(governor([0.0, 0.0, 0.0, 3.0, 5.0]))],
    },
    "idle-range": {
        "far above what the map has around idle": [sheet(governor([-8.0, -4.0, 0.0, 12.0, 24.0]))],
        "far past top dead centre": [sheet(governor([-18.0, -9.0, 0.0, 3.0, 5.0]))],
    },
    "idle-open": {
        "without a condition": [sheet(governor([-5.0, -3.0, 0.0, 3.0, 5.0], when=[]))],
        "by speed alone": [
            sheet(governor([-5.0, -3.0, 0.0, 3.0, 5.0], when=[SPEED | {"below": 1600.0}]))
        ],
        "up to half throttle": [
            sheet(governor([-5.0, -3.0, 0.0, 3.0, 5.0], when=[THROTTLE | {"below": 50.0}]))
        ],
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
    "one-name": {
        "two contents": [revision("C", amount(-4.0, WET)), revision("C", amount(-5.0, WET))],
        "with another one in between": [
            revision("C", amount(-4.0, WET)),
            revision("D", amount(-4.0, WET)),
            revision("C", amount(-5.0, WET)),
        ],
        "a copy": [revision("C", amount(-4.0, WET)), revision("C", amount(-4.0, WET))],
    },
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
