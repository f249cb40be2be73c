"""Telling a story: drive it, log it, keep its books, write the truth."""

from dataclasses import replace
from typing import Any

import numpy as np

from tuneledger.calibrations.model import readings
from tuneledger.car import distractors
from tuneledger.car.cases.books import Books, carried_out, episodes, keep_books, misfit
from tuneledger.car.cases.case import Case
from tuneledger.car.cases.causes import acts, causes, find, owner_of
from tuneledger.car.cases.setting import ALWAYS, OFTEN, SWITCHES, Setting, extras
from tuneledger.car.cases.story import Sheet, Story, UnfitError
from tuneledger.car.dress import DECIMALS, SPARK, Column, column_for, own_unit
from tuneledger.car.drive import DT, Plan, Run, drive, switch
from tuneledger.car.logger import Logged, write_log
from tuneledger.car.sheets import calibration, to_toml
from tuneledger.signals import SIGNALS

FOLLOWS = 0.2  # degrees rms to which the running sheet must follow from the log's rows
NEAR = 0.12  # a sheet that leaves less rms than this fits the log


def tell(story: Story, kind: str, seed: int) -> Case:
    """The finished case. UnfitError where what it is about does not show."""
    setting = story.setting
    if story.lag is not None:
        setting.dress = replace(setting.dress, lag=story.lag)
    columns = lay_out(story)
    plan = planned(story, columns)
    foretell(story, plan)
    run = drive(plan, story.ignition())
    logged = log_of(story, run, columns, int(setting.rng.integers(2**31)))
    first = story.sheets[0][1] if story.sheets else None
    books = keep_books(
        run, logged.rows, story.running, first, _is_logged(columns, "scheduled advance")
    )
    tolerance = max(0.3, setting.spark_step)
    check(story, books, tolerance)
    left = misfit(story.running, run, logged.rows)
    if story.ecu is None and (left or 0.0) > FOLLOWS:
        raise UnfitError("the log is too thin to follow what happened between its rows")
    running = _running(story, run, logged, left)
    if story.ecu is not None and running and min(_misfits(running)) < 2 * NEAR:
        raise UnfitError("one of the revisions fits throughout")
    truth = _truth(story, kind, seed, logged, books, tolerance) | {"running": running}
    files = {"log.csv": logged.data, "truth.csv": books.csv()}
    files |= {file: to_toml(sheet).encode() for file, sheet in story.sheets}
    if story.other_drive is not None:
        from tuneledger.car.cases.heldout import held_out

        rules = [c["rule"] for c in truth["causes"] if c["kind"] == "hidden rule"]
        if None in rules:
            raise UnfitError("the contract's rule form cannot say it")
        more, told = held_out(story, plan, logged, run, books)
        files |= more
        truth |= told
        if not told["identifiable"] and truth["verdict"] == "explained":
            truth["verdicts_accepted"] = ["explained", "unexplained"]
    return Case(kind, seed, truth, files)


def lay_out(story: Story) -> list[Column]:
    """Which columns the log has, in which order."""
    setting, rng = story.setting, story.setting.rng
    keys = {*SPARK, *ALWAYS, *story.also, *story.shares} | sheet_keys(story)
    keys |= {k for k in OFTEN if rng.random() < 0.75}
    keys |= {k for k in SWITCHES if setting.bench.switches.get(k) or rng.random() < 0.4}
    keys -= {*story.absent}
    if not story.few_channels:
        keys |= set(extras(rng)) - {*story.absent}
    order = [str(k) for k in rng.permutation(sorted(keys))]
    _twins(setting, order)
    columns = [
        column_for(k, setting.names[k], setting.dress, rng, setting.spark_step) for k in order
    ]
    for i, c in enumerate(columns):
        if c.key in story.slow:
            every, between = story.slow[c.key]
            columns[i] = replace(c, every=every, between=between)
        elif c.key in story.relabel:
            unit, label = story.relabel[c.key]
            columns[i] = replace(c, unit=unit, label=label, decimals=DECIMALS[unit])
        elif rng.random() < 0.1 and c.key not in (*SPARK, "engine speed", *sheet_keys(story)):
            columns[i] = replace(
                c, every=int(rng.choice([2, 5, 10])), between=str(rng.choice(["hold", "blank"]))
            )
    unit = {"s": "s", "ms": "ms", "clock": ""}[setting.dress.time_as]
    time = Column("time", setting.names["time"], unit, unit, 0.001, 3)
    columns.insert(0 if rng.random() < 0.9 else int(rng.integers(len(columns))), time)
    return columns


def _twins(setting: Setting, order: list[str]) -> None:
    """Now and then a logger gives two channels one name."""
    pairs = (("exhaust 1", "exhaust 2"), ("knock 1", "knock 2"), ("tyre fl", "tyre rr"))
    a, b = pairs[int(setting.rng.integers(len(pairs)))]
    if a in order and b in order and setting.rng.random() < 0.3:
        setting.names[b] = setting.names[a]


def sheet_keys(story: Story) -> set[str]:
    """The quantities that any of the sheets reads."""
    by_name = {name: key for key, name in story.setting.names.items()}
    keys: set[str] = set()
    for sheet in (story.running, *(s for _, s in story.sheets)):
        spark = calibration(sheet).spark
        for r in readings(spark):
            for name in (r.signal, r.channel, r.minus, r.over):
                if name is not None:
                    keys.add(name if name in SIGNALS else by_name[name])
        keys |= {by_name[c.logged_as] for c in spark.correction if c.logged_as}
    return keys


def planned(story: Story, columns: list[Column]) -> Plan:
    setting = story.setting
    sources = {c.name: (c.key, own_unit(c.key), c.unit) for c in columns if c.key != "time"}
    for key in sheet_keys(story) - {c.key for c in columns}:
        sources[setting.names[key]] = (key, own_unit(key), own_unit(key))
    return replace(
        setting.plan,
        switches=dict(setting.bench.switches),
        channels=sources,
        tick=2 if round(1.0 / setting.dress.rate_hz / DT) % 2 == 0 else 1,
        seed=int(setting.rng.integers(2**31)),
        **story.plan,
    )


def log_of(story: Story, run: Run, columns: list[Column], seed: int) -> Logged:
    """The log of a run, with the shares and distractors that its columns ask for."""
    for key, (ids, sign) in story.shares.items():
        if key not in run.columns:
            total = sum((run.entries[name] for name in ids), np.zeros(run.times.size))
            run.columns[key] = np.where(run.void, 0.0, sign * total)
    distractors.add(run, [c.key for c in columns if c.key in distractors.DISTRACTORS], seed)
    return write_log(run, columns, story.setting.dress, seed, story.damage)


def foretell(story: Story, plan: Plan) -> None:
    """A first look on the first drive, so that a hopeless throw costs little."""
    base = story.setting.bench.base
    rows = np.arange(0, base.times.size, 5, dtype=np.int64)
    times = base.times[rows]
    columns = {key: values[rows] for key, values in base.columns.items()}
    columns |= {key: switch(times, spans) for key, spans in plan.switches.items()}
    steps = carried_out(story.running, plan.channels, times, columns)
    tolerance = max(0.3, story.setting.spark_step)
    for name in {*story.acting} - {"other-map"}:
        entries = np.array([s.entries.get(name) or 0.0 for s in steps])
        share = float(np.mean(np.abs(entries) > tolerance))
        if share < 0.01 or (name in story.hidden and not 0.03 < share < 0.93):
            raise UnfitError(f"{name} will hardly act, or always")


def check(story: Story, books: Books, tolerance: float) -> None:
    """What the story is about must be seen; a quiet story must stay quiet."""
    for name in story.acting:
        entry = books.entry(name)
        beyond = np.abs(entry) > tolerance
        if not acts(entry, books, tolerance) or beyond.mean() < 0.015:
            raise UnfitError(f"{name} does not act")
        if name in story.hidden and not 0.04 < beyond.mean() < 0.9:
            raise UnfitError(f"{name} acts nearly never or always")
    moved = [n for n, e in books.entries.items() if acts(e, books, tolerance)]
    idle = {c["id"] for c in story.running["spark"]["correction"] if c["reason"] == "idle speed"}
    if set(moved) - set(story.acting) - idle:
        raise UnfitError(f"{moved} act, not only {story.acting}")
    if acts(books.limit, books, tolerance) and "limit" not in story.acting:
        raise UnfitError("limits act")
    if story.quiet and moved:
        raise UnfitError("something acts")


def _is_logged(columns: list[Column], key: str) -> bool:
    return any(c.key == key for c in columns)


def _truth(
    story: Story, kind: str, seed: int, logged: Logged, books: Books, tolerance: float
) -> dict[str, Any]:
    setting, columns = story.setting, list(logged.columns)
    found = [] if {*SPARK} & {*story.absent} and story.needs else causes(
        story, books, tolerance, columns)  # fmt: skip
    cannot_tell = story.verdicts == ["cannot tell"]
    scored = not cannot_tell or bool(story.needs and _is_logged(columns, "delivered advance"))
    verdicts = story.verdicts or [_verdict(found)]
    only_map = (
        _is_logged(columns, "scheduled advance")
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


def _running(story: Story, run: Run, logged: Logged, left: float | None) -> dict[str, Any] | None:
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


def _misfits(running: dict[str, Any]) -> list[float]:
    return [float(r["misfit_deg"] or 0.0) for r in running["ranking"]]


def _roles_needed(story: Story, columns: list[Column]) -> list[str]:
    logged = {c.key for c in columns}
    needed = {*SPARK, "engine speed"} & logged
    if not _is_logged(columns, "delivered advance"):
        needed.add("delivered advance")
    if story.sheets:
        first = story.sheets[0][1]["spark"]
        on = [c for c in first["correction"] if c.get("enabled", True)]
        spark = calibration({"revision": "-", "spark": first | {"correction": on}}).spark
        named = {n for r in readings(spark) for n in (r.signal, r.minus, r.over) if n in SIGNALS}
        needed |= named & logged
    return sorted(str(n) for n in needed)


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
    if acts(books.limit, books, tolerance) and story.sheets:
        out.append("limit")
    if acts(books.other_map, books, tolerance):
        out.append("other-map")
    return out


def listed(story: Story, name: str) -> bool:
    """Whether the first sheet handed over lists the correction at all."""
    return bool(story.sheets) and find(story.sheets[0][1], name) is not None
