"""Questions that are answered sample by sample: episodes, entries, and what is left over."""

import numpy as np

from benchmarks.marks import Point, Report, Result
from benchmarks.truth import Case
from tuneledger.arrays import BoolArray, FloatArray

ENTRY_RMS_DEG = 0.15  # beside half a step of the logged advance
COVERED = 0.9  # share of an entry's active samples that a ledger must have computed
BALANCED = 0.95  # share of judged samples whose unaccounted is under one tolerance
OVERLAP = 0.7  # of episode time, intersection over union


def episodes(case: Case, result: Result) -> Point:
    """Time in episodes, intersection over union, on the log's samples."""
    if not case.truth["episodes_scored"]:
        return Point("episodes", None)
    about = case.truth["episodes_about"]
    times = case.columns["time_s"]
    true = _in_episodes(case.truth["episodes"], times, about)
    given = _in_episodes(result.statement["episodes"], times, about)
    if not true.any():
        ok = not result.statement["episodes"]
        return Point("episodes", ok, "" if ok else f"{given.sum()} samples in episodes, right is 0")
    overlap = float((true & given).sum() / (true | given).sum())
    reason = (
        f"overlap {overlap:.2f}: {int((true & ~given).sum())} samples missed, "
        f"{int((given & ~true).sum())} too many of {int(true.sum())}"
    )
    return Point("episodes", overlap >= OVERLAP, "" if overlap >= OVERLAP else reason, overlap)


def _in_episodes(found: list[Report], times: FloatArray, about: str) -> BoolArray:
    inside = np.zeros(times.shape, dtype=bool)
    for one in found:
        if one["about"] == about:
            inside |= (times >= one["start_s"] - 1e-6) & (times <= one["end_s"] + 1e-6)
    return inside


def entries(case: Case, result: Result) -> Point:
    """Each computable entry against the truth: RMS within 0.15° beside half a logged step."""
    wanted = case.truth["entries_computable"]
    if not wanted:
        return Point("entries", None)
    if result.ledger is None:
        return Point("entries", False, "no ledger")
    allowed = ENTRY_RMS_DEG + case.truth["spark_step"] / 2
    wrong, worst = [], 0.0
    for correction in wanted:
        given = result.ledger.get(f"entry:{correction}")
        true = case.true_entry(correction)
        if given is None:
            wrong.append(f"no column entry:{correction}")
        elif given.shape != true.shape:
            wrong.append(f"the ledger has {given.size} rows, the log {true.size}")
        else:
            fault, rms = _entry_fault(given, true, allowed)
            worst = max(worst, rms)
            if fault:
                wrong.append(f"entry:{correction} {fault}")
    return Point("entries", not wrong, "; ".join(wrong), worst)


def _entry_fault(given: FloatArray, true: FloatArray, allowed: float) -> tuple[str, float]:
    known, acts = np.isfinite(given), np.abs(true) > 1e-9
    covered = float(known[acts].mean()) if acts.any() else 1.0
    if covered < COVERED:
        return f"is computed in only {covered:.0%} of the samples in which it acts", 0.0
    rms = float(np.sqrt(np.mean((given[known] - true[known]) ** 2))) if known.any() else 0.0
    return (f"is off by {rms:.2f}° rms, allowed {allowed:.2f}°" if rms > allowed else ""), rms


def unaccounted(case: Case, result: Result) -> Point:
    """Where the files explain everything, next to nothing is left over in ledger and episodes."""
    if not case.truth["explained_by_files"] or not case.truth["episodes_scored"]:
        return Point("unaccounted", None)
    if result.ledger is None:
        return Point("unaccounted", False, "no ledger")
    tolerance = float(case.truth["tolerance_deg"])
    left = result.ledger["unaccounted_deg"]
    left = left[np.isfinite(left)]
    if left.size < case.truth["log"]["samples"] / case.truth["delivered_every"] / 2:
        return Point("unaccounted", False, f"the ledger balances only {left.size} samples")
    share = float(np.mean(np.abs(left) <= tolerance + 1e-9))
    loose = [
        f"episode at {one['start_s']:.2f} s leaves {one['unaccounted_deg']:+.2f}°"
        for one in result.statement["episodes"]
        if one["about"] == "delivery" and abs(one["unaccounted_deg"] or 0.0) > tolerance
    ]
    if share < BALANCED:
        loose.insert(0, f"only {share:.1%} of the samples balance within {tolerance:g}°")
    return Point("unaccounted", not loose, "; ".join(loose[:3]), share)
