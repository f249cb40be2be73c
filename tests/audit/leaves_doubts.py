"""Near misses of the checks for what somebody should look at and what is good to know.

None may be flagged; each stands with what is right about it.
"""

from tests.audit.parts import HOT_AIR, WET, along, amount, governor, revision
from tests.audit.sheetlike import (
    CELLS,
    COOLANT,
    INTAKE,
    SPEED,
    THROTTLE,
    changed,
    map_of,
    sheet,
)
from tuneledger.calibrations.model import Calibration

LEAVES_DOUBTS: dict[str, dict[str, list[Calibration]]] = {
    "idle-authority": {"both ways": [sheet(governor([-5.0, -3.0, 0.0, 3.0, 5.0]))]},
    "idle-range": {"within what the map has": [sheet(governor([-6.0, -3.0, 0.0, 3.0, 5.0]))]},
    "idle-open": {
        "a closed throttle": [sheet(governor([-5.0, -3.0, 0.0, 3.0, 5.0]))],
        "a pedal at rest": [
            sheet(
                governor(
                    [-5.0, -3.0, 0.0, 3.0, 5.0],
                    when=[{"signal": "accelerator position", "unit": "%", "below": 3.0}],
                )
            )
        ],
        "a switch of its own": [
            sheet(
                governor(
                    [-5.0, -3.0, 0.0, 3.0, 5.0],
                    when=[{"channel": "Idle switch", "is": "on"}],
                )
            )
        ],
        "switched off": [sheet(governor([-5.0, -3.0, 0.0, 3.0, 5.0], when=[], enabled=False))],
    },
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
    "one-name": {
        "one content under two names": [
            revision("C", amount(-4.0, WET)),
            revision("D", amount(-4.0, WET)),
        ],
        "names that differ in a letter's case": [
            revision("c", amount(-4.0, WET)),
            revision("C", amount(-5.0, WET)),
        ],
        "one sheet": [revision("C", amount(-4.0, WET))],
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
