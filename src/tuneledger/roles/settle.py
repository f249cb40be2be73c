"""From log-odds to certainties: who plays which part, where each can play only one."""

import numpy as np

from tuneledger.arrays import FloatArray

_ROUNDS = 60


def settle(weights: FloatArray, present: FloatArray, rest: FloatArray | None = None) -> FloatArray:
    """Probability that channel i is signal j, shape as `weights`.

    weights: log-odds of the evidence for (channel, signal), against the channel being anything else
    present: how likely each signal is to be in a log at all
    rest:    log-odds per channel of being a twin of a signal (one cylinder's advance, say), which
             there may be any number of

    Before any evidence a signal is absent or any one channel, equally likely. Signals compete for
    channels: the odds are balanced in turn (Sinkhorn) so that no row or column sums to more than 1,
    each with an alternative of its own: a channel may be none of the signals, a signal absent.
    """
    channels = max(1, weights.shape[0])
    odds = np.exp(np.clip(weights, -30, 30)) * (present / (channels * (1.0 - present)))
    none = np.ones(weights.shape[0])
    if rest is not None:
        none += np.exp(np.clip(rest, -30, 30)) / channels
    rows, columns = np.ones(weights.shape[0]), np.ones(weights.shape[1])
    for _ in range(_ROUNDS):
        rows = 1.0 / (none + odds @ columns)
        columns = 1.0 / (1.0 + odds.T @ rows)
    out: FloatArray = odds * rows[:, None] * columns[None, :]
    return out
