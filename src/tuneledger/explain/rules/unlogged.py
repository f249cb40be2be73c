"""How likely it is that what the ECU followed is in the log at all.

Most of what an ECU reads nobody logs. Then some rule over the channels that there are will fit all
the same, for with a hundred and fifty of them and three conditions a few stretches can always be
singled out. What tells the two apart is how much has to be said of a rule for each time that it was
seen to start or stop: a rule that is so follows the log through many edges with few words.
"""

import numpy as np

from tuneledger.explain.rules.fitted import Fitted

# Log-odds that a rule is so and what it reads is logged: those of a rule without a word, what every
# edge adds, up to so many, and what a nat of description takes. By logistic regression over the
# rules read out of some 100 made cases that log what the hidden rule reads and of 75 that do not
# (kind M), rounded so that the rules that were so keep their certainty; other seeds than those that
# are measured.
_PRIOR, _PER_EDGE, _MOST_EDGES, _PER_NAT = 6.0, 0.3, 12, 0.33
# Below this it is told.
WORTH_SAYING = 0.8
SAYS = (
    "it takes much to say for the few times that it was seen to start or stop: what the ECU "
    "followed may not be in the log"
)


def logged(rule: Fitted, edges: int) -> float:
    """From 0 to 1. A curve, and what acts all through, do not single out stretches: 1.

    edges: how often the rule was seen to start or stop
    """
    if rule.shape is not None or not rule.terms:
        return 1.0
    for_it = _PRIOR + _PER_EDGE * min(edges, _MOST_EDGES) - _PER_NAT * rule.price
    return float(1.0 / (1.0 + np.exp(-for_it)))
