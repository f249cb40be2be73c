"""What `truth.json` says of a case, in the words of the shared cases."""

from dataclasses import replace
from typing import Any

from tuneledger.calibrations.model import readings
from tuneledger.car.cases.books import Books, episodes
from tuneledger.car.cases.causes import acts, causes, owner_of
from tuneledger.car.cases.following import misfit
from tuneledger.car.cases.layout import sheet_keys
from tuneledger.car.cases.story import Sheet, Story
from tuneledger.car.dress import SPARK, Column
from tuneledger.car.drive import Run
from tuneledger.car.logger import Logged
from tuneledger.car.sheets import calibration
from tuneledger.signals import SIGNALS

NEAR = 0.12  # a sheet that leaves less rms than this fits the log


def is_logged(columns: list[Column], key: str) -> bool:
    """Whether a column of the log carries that quantity."""
    return any(c.key == key for c in columns)


def truth_of(
    story: Story, kind: str, seed: int, logged: Logged, books: Books, tolerance: float
) -> dict[str, Any]:
    """What a perfect answer to the case is, in the shape of `truth.json`.

    tolerance: degrees within which scheduled plus entries and delivered are the same
    """
    setting, columns = story.setting, list(logged.columns)
    found = [] if {*SPARK} & {*story.absent} and story.needs else causes(
        story, books, tolerance, columns)  # fmt: skip
    cannot_tell = story.verdicts == ["cannot tell"]
    scored = not {*SPARK} & {*story.absent} or not story.needs
    verdicts = story.verdicts or [_verdict(found)]
    only_map = (
        is_logged(columns, "scheduled advance")
        and acts(books.beside_map, books, tolerance)
        and not any(acts(e, books, tolerance) for e in books.entries.values())
    )
    about = "map" if only_map else "delivery"
    every = story.slow.get("delivered advance", (1, ""))[0]
    return {
        "format": "truth/1",
        "kind": kind,
        "variant": story.variant,
        "seed": seed,
        "car": setting.vehicle.name,
        "names": setting.dress.vocabulary,
        "log": {
            "file": "log.csv",
            "duration_s": round(float(logged.times[-1]), 3),
            "samples": int(logged.rows.size),
            "rate_hz": setting.dress.rate_hz,
            "channels": len(columns),
        },
        "calibrations": [file for file, _ in story.sheets],
        "roles": {c.key: {"channel": c.name, "unit": c.unit} for c in columns if c.key in SIGNALS},
        "tolerance_deg": tolerance,
        "lag_samples": setting.dress.lag,
        "spark_step": setting.spark_step,
        "delivered_every": every,
        "exits_if_expected": [1] if any(c["raises"] for c in found) else [0],
        "verdict": verdicts[0],
        "verdicts_accepted": verdicts,
        "causes": found,
        "needs": story.needs,
        "roles_needed": _roles_needed(story, columns),
        "explained_by_files": bool(found) and not cannot_tell and all(
            c["kind"] not in ("hidden rule", "unit", "sign") for c in found),
        "episodes_scored": scored,
        "episodes_about": about,
        "entries_computable": [] if cannot_tell else _computable(story, books, columns, tolerance),
        "episodes": episodes(books, tolerance, about),
        "log_format": logged.format,
    } | story.extra  # fmt: skip


def _verdict(found: list[dict[str, Any]]) -> str:
    if not found:
        return "agrees"
    return "expected" if all(c["expected"] for c in found) else "explained"


def running_of(story: Story, run: Run, logged: Logged, left: float | None) -> dict[str, Any] | None:
    """`left`: what the running sheet itself leaves."""
    if not story.sheets:
        return None
    runs = [s["revision"] for _, s in story.sheets if s["spark"] == story.running["spark"]]
    runs = [] if story.ecu else runs
    ranking = [
        {
            "revision": s["revision"],
            "file": file,
            "misfit_deg": left if s["revision"] in runs else misfit(s, run, logged.rows),
        }
        for file, s in story.sheets
    ]
    fit = [
        r
        for r in ranking
        if r["misfit_deg"] is not None and (r["misfit_deg"] < NEAR or r["revision"] in runs)
    ]
    ranking.sort(key=lambda r: 1e9 if r["misfit_deg"] is None else float(str(r["misfit_deg"])))
    first = story.sheets[0][1]["revision"]
    accepted: list[Any] = [r["revision"] for r in fit] or [first, None]
    if len(fit) > 1:
        accepted.append(None)
    if story.best_accepted is not None:
        accepted = story.best_accepted
    asked = "delivered advance" not in story.absent
    return {
        "supplied": first,
        "best": fit[0]["revision"] if fit else None,
        "ranking": ranking,
        "best_accepted": accepted if asked else None,
        "matches_supplied": any(r["revision"] == first for r in fit) if asked else None,
    }


def misfits(running: dict[str, Any]) -> list[float]:
    """What each sheet leaves of the log, rms in degrees, best first; 0 where it cannot be told,
    which comes last."""
    return [float(r["misfit_deg"] or 0.0) for r in running["ranking"]]


def _roles_needed(story: Story, columns: list[Column]) -> list[str]:
    logged = {c.key for c in columns}
    needed = {*SPARK, "engine speed"} & logged
    if not is_logged(columns, "delivered advance"):
        needed.add("delivered advance")
    if story.sheets:
        first = story.sheets[0][1]["spark"]
        on = [c for c in first["correction"] if c.get("enabled", True)]
        spark = calibration({"revision": "-", "spark": first | {"correction": on}}).spark
        named = {n for r in readings(spark) for n in (r.signal, r.minus, r.over) if n in SIGNALS}
        needed |= named & logged
    return sorted(str(n) for n in needed - {*story.untrusted})


def _computable(story: Story, books: Books, columns: list[Column], tolerance: float) -> list[str]:
    """Entries that a ledger must hold: they act, a sheet has them so, and the log their inputs."""
    logged = {c.key for c in columns}
    out = []
    for c in story.running["spark"]["correction"]:
        if not acts(books.entries.get(c["id"]), books, tolerance) or c["id"] in story.hidden:
            continue
        alone: Sheet = {"revision": "-", "spark": {"map": {"amount": 0.0}, "correction": [c]}}
        if owner_of(story, c) and sheet_keys(replace(story, running=alone, sheets=[])) <= logged:
            out.append(c["id"])
    if acts(books.limit, books, tolerance) and story.sheets and not story.rate:
        out.append("limit")
    if acts(books.other_map, books, tolerance):
        out.append("other-map")
    return out
