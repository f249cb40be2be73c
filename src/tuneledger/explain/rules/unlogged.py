"""How likely it is that what the ECU followed is in the log at all.

Most of what an ECU reads nobody logs. Then some rule over the channels that there are will fit all
the same, for with a hundred and fifty of them and three conditions a few stretches can always be
singled out. What tells the two apart is how much has to be said of a rule for each time that it was
seen to start or stop: a rule that is so follows the log through many edges with few words.
"""

import numpy as np

from tuneledger.explain.rules.fitted import Fitted

# Log-odds that a rule is so and what it reads is logged: those of a rule without a word, what every
# doubling of the edges at which it was seen adds, and what a nat of description takes; a curve
# tells more than its edges do. By logistic regression over the rules read out of some 180 made
# cases that log what the hidden rule reads and 95 that do not (kind M), rounded; each fifth of them
# foretold by the other four came out nearly as well. Other seeds than those that are measured.
_PRIOR, _PER_DOUBLING, _MOST_EDGES, _PER_NAT, _CURVE = 7.0, 1.5, 12, 0.5, 1.25
# Below this it is told.
WORTH_SAYING = 0.8
SAYS = (
    "it takes much to say for the few times that it was seen to start or stop: what the ECU "
    "followed may not be in the log"
)


def logged(rule: Fitted, edges: int) -> float:
    """From 0 to 1. What acts all through singles out no stretches: 1.

    edges: at how many it was seen to start or stop, or to turn along its curve
    """
    if rule.shape is None and not rule.terms:
        return 1.0
    doublings = np.log2(min(max(edges, 1), _MOST_EDGES))
    for_it = _PRIOR + _PER_DOUBLING * doublings - _PER_NAT * rule.price
    for_it += _CURVE if rule.shape is not None else 0.0
    return float(1.0 / (1.0 + np.exp(-for_it)))
