"""The peer: the notebook that a competent analyst would write for the same job.

pandas for the log, SciPy's RegularGridInterpolator for the maps, every enabled correction carried
out sample by sample without memory, the revision with the smallest RMS, and a decision tree of
depth 3 (scikit-learn) on what is left over. It is told which channel is which, in which unit, and
the step of the logged advance, so that its explanation is compared and not its reading of names.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd
from sklearn.tree import DecisionTreeRegressor

from benchmarks.marks import Result
from benchmarks.peer_sheet import (
    Bench,
    NotLoggedError,
    Sheet,
    look_up,
    predicted,
    read_sheet,
)
from benchmarks.truth import Case
from tuneledger.arrays import BoolArray, FloatArray

SHORTEST = 3  # samples: anything briefer is taken for an edge
DEPTH = 3
LEAF_SHARE = 0.01  # a leaf holds at least this share of the samples
SEES = 0.5  # share of the spread that a tree must take away before it is believed


@dataclass(frozen=True)
class Replay:
    """One sheet carried out: its entries, and the RMS of what they leave."""

    sheet: Sheet
    file: str
    entries: Mapping[str, FloatArray]
    left: FloatArray

    @property
    def misfit(self) -> float:
        return float(np.sqrt(np.nanmean(self.left**2)))


def peer(case: Case) -> Result:
    """What the notebook says about a case, as a minimal statement with its ledger."""
    truth = case.truth
    log, roles = case.log, truth["roles"]
    bench = Bench(pd.DataFrame(log.channels, index=log.times), roles, log.units)
    sheets = [(path.name, read_sheet(path)) for path in case.files[1:]]
    try:
        delivered = bench.column({"signal": "delivered advance"})
        scheduled = _scheduled(bench, sheets)
    except NotLoggedError as missing:
        return _cannot_tell(roles, str(missing))
    mapped = "scheduled advance" not in roles  # then a sheet's own map is what it schedules
    replays = [_replay(*named, scheduled, delivered, bench, mapped) for named in sheets]
    best = min(replays, key=lambda replay: replay.misfit, default=None)
    tolerance = max(0.3, float(truth["spark_step"]))
    found = list(_causes(bench, best, replays, delivered - scheduled, tolerance))
    statement = {
        "format": "tuneledger-statement/1",
        "roles": {name: {**role, "certainty": 1.0} for name, role in roles.items()},
        "verdict": _verdict(delivered - scheduled, tolerance, found),
        "running": _running(replays, best),
        "episodes": list(_episodes(log.times, scheduled, delivered, tolerance)),
        "causes": [{**cause, "rank": rank} for rank, cause in enumerate(found, 1)],
        "needs": [],
    }
    entries = {f"entry:{k}": v for k, v in (best.entries if best else {}).items()}
    left = best.left if best else delivered - scheduled
    return Result(statement, {"time_s": log.times, **entries, "unaccounted_deg": left})


def _scheduled(bench: Bench, sheets: Sequence[tuple[str, Sheet]]) -> FloatArray:
    try:
        return bench.column({"signal": "scheduled advance"})
    except NotLoggedError:
        if not sheets:
            raise
        return look_up(sheets[0][1]["spark"]["map"], bench)


def _replay(
    file: str,
    sheet: Sheet,
    scheduled: FloatArray,
    delivered: FloatArray,
    bench: Bench,
    mapped: bool,
) -> Replay:
    own = look_up(sheet["spark"]["map"], bench) if mapped else scheduled
    entries = {"other-map": own - scheduled, **predicted(sheet, own, bench)}
    return Replay(sheet, file, entries, delivered - scheduled - sum(entries.values()))


def _running(replays: Sequence[Replay], best: Replay | None) -> dict[str, Any] | None:
    if best is None:
        return None
    supplied = replays[0].sheet["revision"]
    name = best.sheet["revision"]
    return {"supplied": supplied, "best": name, "matches_supplied": name == supplied}


def _causes(
    bench: Bench,
    best: Replay | None,
    replays: Sequence[Replay],
    difference: FloatArray,
    tolerance: float,
) -> Iterator[dict[str, Any]]:
    """Entries of the best revision that act, largest first; a tree for what they leave."""
    weight = {k: np.abs(v).sum() for k, v in (best.entries if best else {}).items()}
    for correction in sorted(weight, key=lambda key: -weight[key]):
        assert best is not None
        entry = best.entries[correction]
        acts = np.abs(entry) > tolerance
        if acts.sum() >= SHORTEST:
            yield _entry_cause(correction, entry[acts], best, replays)
    left = best.left if best else difference
    if _runs(np.abs(left) > tolerance):
        rule, certainty = _tree(bench, left, tolerance)
        if rule is not None:
            yield _cause("hidden rule", rule["amount_deg"], certainty, rule=rule)


def _entry_cause(
    correction: str, entry: FloatArray, best: Replay, replays: Sequence[Replay]
) -> dict[str, Any]:
    degrees = float(entry.mean())
    if correction in ("limit", "other-map"):
        return _cause(correction.replace("-", " "), degrees, 0.9)
    own = {c["id"]: c for c in replays[0].sheet["spark"].get("correction", ())}
    theirs = {c["id"]: c for c in best.sheet["spark"].get("correction", ())}
    same = own.get(correction) == theirs[correction]
    kind = "correction" if same else "other revision"
    if same and theirs[correction].get("effect") == "replace":
        kind = "replacement"
    named = {"correction": correction, "revision": best.sheet["revision"]}
    return _cause(kind, degrees, 0.9, **named)


def _cause(kind: str, degrees: float, certainty: float, **more: Any) -> dict[str, Any]:
    blank = {"correction": None, "revision": None, "rule": None}
    return {"kind": kind, "degrees": degrees, "certainty": certainty, **blank, **more}


def _tree(bench: Bench, left: FloatArray, tolerance: float) -> tuple[dict[str, Any] | None, float]:
    """The leaf that holds most degree-samples, as a rule, and the share of spread explained."""
    names = [name for name in map(str, bench.frame.columns) if bench.frame[name].nunique() > 1]
    names = [name for name in names if name not in bench.advance]
    inputs = bench.frame[names].ffill().bfill().to_numpy()
    known = np.isfinite(left)
    tree = DecisionTreeRegressor(max_depth=DEPTH, min_samples_leaf=LEAF_SHARE, random_state=0)
    tree.fit(inputs[known], left[known])
    share = float(tree.score(inputs[known], left[known]))
    leaves = tree.apply(inputs)
    weight = {leaf: np.nansum(left[leaves == leaf]) for leaf in np.unique(leaves)}
    leaf = max(weight, key=lambda key: abs(weight[key]))
    amount = float(np.nanmean(left[leaves == leaf]))
    if share < SEES or abs(amount) <= tolerance:
        return None, share
    return {"when": _path(tree.tree_, int(leaf), names), "amount_deg": amount}, share


def _path(tree: Any, leaf: int, names: Sequence[str]) -> list[dict[str, Any]]:
    """The conditions from the root down to a leaf, in the contract's form."""
    parents = {int(tree.children_left[i]): (i, "below") for i in range(tree.node_count)}
    parents |= {int(tree.children_right[i]): (i, "above") for i in range(tree.node_count)}
    when = []
    while leaf in parents and leaf != 0:
        leaf, side = parents[leaf]
        channel = names[tree.feature[leaf]]
        when.append({"channel": channel, side: float(tree.threshold[leaf])})
    return when


def _verdict(difference: FloatArray, tolerance: float, found: Sequence[Mapping[str, Any]]) -> str:
    if not _runs(np.abs(difference) > tolerance):
        return "agrees"
    return "explained" if found and found[0]["certainty"] >= 0.8 else "unexplained"


def _episodes(
    times: FloatArray, scheduled: FloatArray, delivered: FloatArray, tolerance: float
) -> Iterator[dict[str, Any]]:
    for first, last in _runs(np.abs(delivered - scheduled) > tolerance):
        part = slice(first, last + 1)
        yield {
            "log": 0,
            "start_s": float(times[first]),
            "end_s": float(times[last]),
            "about": "delivery",
            "difference_deg": float((delivered - scheduled)[part].mean()),
            "unaccounted_deg": 0.0,
        }


def _runs(beyond: BoolArray) -> list[tuple[int, int]]:
    """First and last row of every stretch that is long enough."""
    edges = np.flatnonzero(np.diff(np.concatenate(([False], beyond, [False])).astype(int)))
    pairs = zip(edges[::2], edges[1::2] - 1, strict=True)
    return [(int(first), int(last)) for first, last in pairs if last - first + 1 >= SHORTEST]


def _cannot_tell(roles: Mapping[str, Any], missing: str) -> Result:
    statement = {
        "roles": {name: {**role, "certainty": 1.0} for name, role in roles.items()},
        "verdict": "cannot tell",
        "running": None,
        "episodes": [],
        "causes": [],
        "needs": [{"what": missing, "why": "not logged"}],
    }
    return Result(statement)
