"""Near misses of the checks for what may hurt or does not do what it is written for.

None may be flagged; each stands with what is right about it.
"""

from tests.audit.parts import HOT_AIR, WET, along, amount, governor, guard, revision
from tests.audit.sheetlike import (
    CELLS,
    COOLANT,
    OIL,
    SPEED,
    THROTTLE,
    changed,
    map_of,
    sheet,
)
from tuneledger.calibrations.model import Calibration

LEAVES_FAULTS: dict[str, dict[str, list[Calibration]]] = {
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
    "guard-high": {
        "it acts when pressure is low": [sheet(guard(-8.0))],
        "a pressure that no healthy engine has": [
            sheet(amount(-8.0, OIL | {"above": 900.0, "held": 0.3}, reason="sensor guard"))
        ],
        "a sensor that is alive, beside the low pressure": [
            sheet(
                guard(
                    -8.0,
                    when=[
                        {"signal": "fuel pressure", "unit": "kPa", "above": 20.0},
                        OIL | {"below": 120.0, "held": 0.3},
                    ],
                )
            )
        ],
        "a switch that the driver sets": [
            sheet(amount(-4.0, WET, OIL | {"above": 160.0}, reason="driver switch"))
        ],
    },
    "hot-adds": {
        "a warm-up retard that fades as the engine gets warm": [
            sheet(along(COOLANT, [20.0, 50.0, 80.0, 100.0], [-8.0, -5.0, -2.0, 0.0]))
        ],
        "a retard that stays as it is when hot": [
            sheet(along(COOLANT, [95.0, 105.0, 115.0, 125.0], [0.0, -4.0, -6.0, -6.0]))
        ],
        "one that fades at a closed throttle only": [
            sheet(along(COOLANT, [100.0, 115.0], [-6.0, 0.0], when=[THROTTLE | {"below": 3.0}]))
        ],
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
    "never-ends": {
        "what starts it passes": [
            sheet(amount(3.0, COOLANT | {"below": 40.0}, until=COOLANT | {"above": 70.0}))
        ],
        "another channel ends it": [sheet(amount(-3.0, WET, until=THROTTLE | {"above": 80.0}))],
        "until the power goes": [
            sheet(amount(-3.0, THROTTLE | {"above": 50.0}, until="power off"))
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
        "a low threshold of oil at idle": [
            sheet(guard(-8.0, when=[OIL | {"below": 40.0, "held": 0.3}]))
        ],
        "a closed throttle": [sheet(amount(-4.0, WET, THROTTLE | {"below": 0.8}))],
        "just off the stop": [sheet(amount(-4.0, WET, THROTTLE | {"above": 1.5}))],
        "an engine that turns at all": [sheet(amount(-4.0, WET, SPEED | {"above": 50.0}))],
        "a guard in bar marked bar": [
            sheet(guard(-8.0, when=[{"signal": "oil pressure", "unit": "bar", "below": 1.6}]))
        ],
        "a hot Celsius axis": [sheet(along(COOLANT, [60.0, 90.0, 120.0], [0.0, 0.0, -3.0]))],
        "a warm-up in Fahrenheit": [
            sheet(
                along(
                    {"signal": "engine coolant temperature", "unit": "degF"},
                    [64.0, 90.0, 116.0],
                    [3.0, 1.0, 0.0],
                )
            )
        ],
        "two points, one of them out of reach on purpose": [
            sheet(along({"signal": "measured lambda"}, [1.0, 20.0], [0.0, -3.0]))
        ],
        "one end out of reach on purpose": [
            sheet(along({"signal": "measured lambda"}, [0.7, 1.0, 20.0], [0.0, 0.0, -3.0]))
        ],
        "a vacuum axis that ends at the outside air": [
            sheet(map=map_of(down={"at": [20.0, 40.0, 60.0, 80.0, 100.0]}))
        ],
    },
    "limit-clips-map": {
        "limits at the ends of the map": [sheet(limits={"highest": 34.0, "lowest": 6.0})]
    },
    "limit-early": {
        "a table that begins early and takes late": [
            sheet(along(SPEED, [3000.0, 6600.0, 7000.0], [0.0, 0.0, -15.0], reason="rev limit"))
        ],
        "above the redline": [
            sheet(amount(-5.0, SPEED | {"above": 7200.0}, reason="rev limit", effect="replace"))
        ],
        "a soft one just below it": [
            sheet(amount(-8.0, SPEED | {"above": 6500.0}, reason="rev limit"))
        ],
        "a lower one by a switch": [
            sheet(amount(-8.0, SPEED | {"above": 4000.0}, WET, reason="rev limit"))
        ],
        "no redline": [
            sheet(amount(-8.0, SPEED | {"above": 4000.0}, reason="rev limit"), engine={})
        ],
        "another reason": [sheet(amount(-4.0, SPEED | {"above": 4000.0}, reason="launch"))],
    },
    "rows-swapped": {
        "in order": [sheet()],
        "less in the first row": [
            sheet(map=map_of([[x - 6.0 for x in CELLS[0]], *CELLS[1:]])),
        ],
        "more at some speeds, less at others": [
            sheet(
                map=map_of(
                    [
                        *CELLS[:2],
                        [x - 6.0 * (i < 5) + 3.0 for i, x in enumerate(CELLS[3])],
                        *CELLS[3:],
                    ]
                )
            )
        ],
        "half a degree": [
            sheet(map=map_of([*CELLS[:2], [x - 0.5 for x in CELLS[3]], *CELLS[3:]])),
        ],
    },
}
