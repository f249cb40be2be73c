"""Kind P: the ECU runs the sheet exactly, but delivers only so fast, or is logged with noise."""

from dataclasses import replace

import numpy as np

from tuneledger.car import corrections as make
from tuneledger.car import profiles
from tuneledger.car.cases.ordinary import with_sheet
from tuneledger.car.cases.setting import Setting, set_up, weather
from tuneledger.car.cases.story import Story
from tuneledger.car.logger import Damage, Lie

Random = np.random.Generator
# Degrees per second, from a slow smoothing of torque to what hardly shows.
_SLOWEST, _FASTEST = 15.0, 60.0
_ALLOWED = 3.5
_WIDTHS = (0.1, 0.2, 0.3, 0.5)


def slow_or_noisy(rng: Random) -> Story:
    """P: a limit on how fast delivered may move, or noise of zero mean on it."""
    return (limited if rng.random() < 0.6 else noisy)(rng)


def _fine(rng: Random) -> Setting:
    day = replace(weather(rng), soak_c=float(rng.uniform(15, 30)))
    s = set_up(rng, profiles.HARD, day)
    s.spark_step = min(s.spark_step, 0.25)
    return s


def limited(rng: Random) -> Story:
    """Delivered moves by at most so many degrees a second, up and down alike or not."""
    s = _fine(rng)
    up, down = (float(np.round(x)) for x in rng.uniform(_SLOWEST, _FASTEST, 2))
    story = with_sheet(s, [make.wet(s.bench)], "delivered moves only so fast")
    story.acting = (*story.acting, "limit")
    story.rate = (up, up if rng.random() < 0.5 else down)
    return story


def noisy(rng: Random) -> Story:
    """Delivered is logged with white noise."""
    s = _fine(rng)
    story = with_sheet(s, [make.wet(s.bench)], "delivered noisy")
    width = float(rng.choice(_WIDTHS))
    story.damage = Damage(lies=(Lie("delivered advance", "noisy", width),))
    # What is left of a sample is judged by no less than its noise.
    story.extra = {"tolerance_deg": max(0.3, s.spark_step, _ALLOWED * width)}
    return story
