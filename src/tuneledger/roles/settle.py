"""From log-odds to certainties: who plays which part, where each can play only one.

Channels and signals form a matching: a channel plays one part or none, a signal has one channel or
none. Probabilities are exact sums over all matchings, taken over groups of signals that compete for
the same channels; competition too weak to matter is left out.
"""

from functools import lru_cache

import numpy as np

from tuneledger.arrays import BoolArray, FloatArray

_WIDEST = 30.0
# Edges of less than this share of a signal's odds do not count; more are dropped where a group of
# competing signals would be too large to sum over.
_WEAKEST = 1e-4
_MOST_SIGNALS = 9


def settle(weights: FloatArray, present: FloatArray, twin: FloatArray) -> FloatArray:
    """Probability that channel i is signal j, shape as `weights`.

    weights: log-odds of the evidence for (channel, signal), against the channel being anything else
    present: how likely each signal is to be in a log at all
    twin:    log-odds per channel of being a twin of a signal (one cylinder's advance, say), which
             there may be any number of

    Before any evidence a signal is absent or any one channel, equally likely.
    """
    channels = max(1, weights.shape[0])
    none = 1.0 + np.exp(np.clip(twin, -_WIDEST, _WIDEST)) / channels
    odds = np.exp(np.clip(weights, -_WIDEST, _WIDEST)) * (present / (channels * (1.0 - present)))
    odds /= none[:, None]
    out = np.zeros_like(odds)
    for signals, edges in _groups(odds):
        rows = np.flatnonzero(edges.any(axis=1))
        block = np.where(edges, odds[:, signals], 0.0)[rows]
        out[np.ix_(rows, np.array(signals))] = _marginals(block.tobytes(), len(signals))
    return np.asarray(out)


def _groups(odds: FloatArray) -> list[tuple[list[int], BoolArray]]:
    """Signals that compete with one another, each group with its edges to channels."""
    out = []
    waiting = [(list(range(odds.shape[1])), _WEAKEST)]
    while waiting:
        signals, weakest = waiting.pop()
        part = odds[:, signals]
        edges = part > weakest * (1.0 + part.sum(axis=0))
        for group in _connected(edges):
            named = [signals[j] for j in group]
            if len(group) <= _MOST_SIGNALS:
                out.append((named, edges[:, group]))
            else:
                waiting.append((named, weakest * 3.0))
    return out


def _connected(edges: BoolArray) -> list[list[int]]:
    """Columns that share a row, directly or through others."""
    shared = edges.astype(np.int64).T @ edges.astype(np.int64) > 0
    left = set(range(edges.shape[1]))
    groups = []
    while left:
        group, fresh = set[int](), {left.pop()}
        while fresh:
            group |= fresh
            fresh = {int(k) for j in fresh for k in np.flatnonzero(shared[j])} - group
        left -= group
        groups.append(sorted(group))
    return groups


@lru_cache(maxsize=256)  # most groups stay as they are from one hearing to the next
def _marginals(block: bytes, signals: int) -> FloatArray:
    """Exact marginals of a small group, channel after channel, over the sets of signals taken.

    block: its odds, one row per channel
    before[i][s]: sum over matchings of the channels before i that take exactly the signals s
    after[i][s]:  sum over matchings of the channels from i on, where s is already taken
    """
    odds = np.frombuffer(block, dtype=np.float64).reshape(-1, signals)
    channels = odds.shape[0]
    sets = np.arange(2**signals)
    without = [sets[(sets >> j) & 1 == 0] for j in range(signals)]
    before = np.zeros((channels + 1, sets.size))
    after = np.ones((channels + 1, sets.size))
    before[0, 0] = 1.0
    for i in range(channels):
        before[i + 1] = before[i]
        for j, free in enumerate(without):
            before[i + 1, free | (1 << j)] += odds[i, j] * before[i, free]
    for i in range(channels - 1, -1, -1):
        after[i] = after[i + 1]
        for j, free in enumerate(without):
            after[i, free] += odds[i, j] * after[i + 1, free | (1 << j)]
    out = np.zeros_like(odds)
    for i in range(channels):
        for j, free in enumerate(without):
            out[i, j] = odds[i, j] * (before[i, free] * after[i + 1, free | (1 << j)]).sum()
    return np.asarray(out / after[0, 0])
