"""What each signal looks like in a log of a running engine: common practice, no source.

Three quantiles (2, 50 and 98 %) in the signal's own unit, each as (impossible below, unusual below,
unusual above, impossible above), and what shape the signal has. `bare` and `labelled` are the
log-odds that a channel which looks like this gains, without and with a label of the right kind.
"""

from tuneledger.record import record

Span = tuple[float, float, float, float]


@record
class Look:
    """See the module. `constant` counts (log-odds) where the channel never moves; `spread` is the
    usual and the greatest span (98 − 2 %); `whole`: only integers; `coarse`: few distinct numbers;
    `smooth`: moves slowly, never noisily; `lively`: visits many values.
    """

    low: Span
    mid: Span
    high: Span
    bare: float
    labelled: float
    constant: float = 0.0
    spread: tuple[float, float] | None = None
    whole: bool = False
    coarse: bool = False
    smooth: bool = False
    lively: bool = False


LOOKS: dict[str, Look] = {
    "engine speed": Look(
        (-50, 350, 1600, 3500), (200, 650, 6500, 14500), (500, 1400, 9800, 20000),
        bare=3.9, labelled=1.9, constant=-4, lively=True,
    ),
    "engine load": Look(
        (-1, 3, 45, 80), (5, 12, 95, 200), (15, 28, 230, 320),
        bare=1.8, labelled=1.8, constant=-3, lively=True,
    ),
    "manifold absolute pressure": Look(
        (5, 14, 70, 103), (18, 22, 150, 280), (30, 45, 330, 500),
        bare=2.8, labelled=2.5, constant=-3, lively=True,
    ),
    "barometric pressure": Look(
        (52, 76, 104, 110), (55, 78, 104, 110), (56, 80, 105, 110),
        bare=3.1, labelled=3.4, constant=0.3, spread=(2.5, 15), smooth=True,
    ),
    "throttle position": Look(
        (-6, -2, 19, 60), (-3, -1, 75, 101), (3, 14, 101, 112),
        bare=0.6, labelled=0.2, constant=-1.5, lively=True,
    ),
    "accelerator position": Look(
        (-6, -2, 19, 60), (-3, -1, 75, 101), (0, 14, 101, 112),
        bare=0.9, labelled=0.6, constant=-2.5, lively=True,
    ),
    "engine coolant temperature": Look(
        (-40, 8, 100, 112), (-30, 55, 106, 120), (-15, 65, 114, 135),
        bare=1.0, labelled=1.1, smooth=True, spread=(75, 125),
    ),
    "intake air temperature": Look(
        (-40, -10, 62, 95), (-35, -2, 72, 105), (-25, 5, 95, 130),
        bare=0.6, labelled=0.7, smooth=True, spread=(60, 110),
    ),
    "oil temperature": Look(
        (-40, 5, 112, 140), (-30, 45, 125, 150), (-20, 55, 140, 170),
        bare=1.6, labelled=1.8, smooth=True, spread=(90, 150),
    ),
    "fuel temperature": Look(
        (-35, -5, 55, 80), (-30, 0, 60, 90), (-25, 2, 70, 110),
        bare=0.6, labelled=0.9, smooth=True, spread=(40, 80),
    ),
    "oil pressure": Look(
        (-10, 50, 380, 700), (20, 110, 650, 900), (60, 180, 850, 1400),
        bare=1.5, labelled=1.6, constant=-3, lively=True,
    ),
    "fuel pressure": Look(
        (0, 180, 6000, 20000), (50, 230, 15000, 25000), (80, 250, 22000, 40000),
        bare=1.5, labelled=1.8,
    ),
    "module voltage": Look(
        (5, 10, 14.7, 16.5), (8, 11.6, 15, 17), (9.5, 12, 15.4, 19),
        bare=2.2, labelled=1.7, spread=(2.5, 7),
    ),
    "vehicle speed": Look(
        (-5, -2, 60, 200), (-3, -1, 190, 320), (-2, 15, 290, 420),
        bare=0.8, labelled=0.5, constant=-1.5, lively=True,
    ),
    "gear": Look(
        (-1, -1, 3, 8), (-1, 0, 6, 9), (0, 2, 8, 10),
        bare=3.3, labelled=3.7, constant=-1.5, whole=True, coarse=True,
    ),
    "ethanol content": Look(
        (-2, 0, 88, 100), (-2, 2, 92, 101), (-1, 3, 95, 102),
        bare=1.0, labelled=1.5, constant=0.4, spread=(6, 30), smooth=True,
    ),
    "idle speed target": Look(
        (250, 500, 1300, 2500), (350, 550, 1400, 2800), (400, 600, 1800, 3500),
        bare=4.1, labelled=4.5, constant=0.3, coarse=True, spread=(700, 1600),
    ),
    "scheduled advance": Look(
        (-45, -12, 24, 38), (-15, 3, 40, 52), (0, 10, 52, 66),
        bare=1.0, labelled=0.8, constant=-4, lively=True,
    ),
    "delivered advance": Look(
        (-50, -20, 24, 38), (-20, 1, 40, 52), (-3, 9, 52, 66),
        bare=1.1, labelled=1.0, constant=-1.5, lively=True,
    ),
    "knock level": Look(
        (-0.1, 0, 3, 50), (0, 0.02, 5, 100), (0, 0.1, 8, 300),
        bare=1.2, labelled=1.6, constant=-3, lively=True,
    ),
    "commanded lambda": Look(
        (0.5, 0.68, 1.02, 1.2), (0.6, 0.75, 1.06, 1.3), (0.75, 0.95, 1.35, 3.0),
        bare=3.2, labelled=3.5, constant=-3,
    ),
    "measured lambda": Look(
        (0.45, 0.66, 1.02, 1.2), (0.6, 0.75, 1.06, 1.4), (0.75, 0.95, 1.6, 20),
        bare=2.4, labelled=2.5, constant=-3, lively=True,
    ),
}  # fmt: skip


# In which unit a channel without a label is likely to be, and which a wrong label may hide.
UNITS_IN_USE: dict[str, dict[str, float]] = {
    "rotation": {"rpm": 0.97, "krpm": 0.02, "rps": 0.01},
    "pressure": {
        "kPa": 0.55, "bar": 0.2, "psi": 0.15, "mbar": 0.06, "inHg": 0.01, "MPa": 0.01, "Pa": 0.01,
    },
    "temperature": {"degC": 0.75, "degF": 0.22, "K": 0.03},
    "ratio": {"%": 0.93, "1": 0.07},
    "voltage": {"V": 0.95, "mV": 0.05},
    "speed": {"km/h": 0.7, "mph": 0.22, "m/s": 0.05, "kn": 0.03},
    "angle": {"deg": 0.98, "rad": 0.01},
    "number": {"": 1.0},
    "mixture": {"": 0.75, "AFR": 0.25},
}  # fmt: skip
