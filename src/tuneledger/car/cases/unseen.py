"""Kind M: what the ECU followed is not in the log, as so often; only what moves with it is."""

import numpy as np

from tuneledger.car.cases.causes import find
from tuneledger.car.cases.hidden import along, threshold, timed, with_switch
from tuneledger.car.cases.layout import sheet_keys
from tuneledger.car.cases.setting import ALWAYS
from tuneledger.car.cases.story import Sheet, Story, UnfitError

# Nobody logs a run without these, and the load may as well be read off either of them.
_LOGGED = {*ALWAYS, "manifold absolute pressure", "throttle position", "accelerator position",
           "engine load"}  # fmt: skip


def not_logged(rng: np.random.Generator) -> Story:
    """A hidden rule of which a channel is missing in the log. Nothing may be claimed for sure, but
    what predicts another drive all the same."""
    tellers = (threshold, with_switch, along, timed)
    story = tellers[int(rng.integers(len(tellers)))](rng)
    (name,) = story.hidden
    secret: Sheet = {"map": {"amount": 0.0}, "correction": [find(story.running, name)]}
    alone = Story(story.setting, "", {"revision": "-", "spark": secret})
    gone = sheet_keys(alone) - _LOGGED
    if not gone:
        raise UnfitError("all that the rule reads is always logged")
    handed = Story(story.setting, "", story.sheets[0][1]) if story.sheets else None
    if handed is not None and sheet_keys(handed) & gone:
        story.sheets = []
    story.absent, story.unseen = tuple(sorted(gone)), True
    story.accept = {name: ["hidden rule", "unknown", "correction"]}
    story.verdicts = ["unexplained", "explained"]
    story.variant = f"{story.variant}, {' and '.join(story.absent)} not logged"
    return story
