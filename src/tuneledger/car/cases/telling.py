"""Telling a story: drive it, log it, keep its books, write the truth."""

from dataclasses import replace

import numpy as np

from tuneledger.car.cases.books import Books, keep_books
from tuneledger.car.cases.case import Case
from tuneledger.car.cases.causes import acts
from tuneledger.car.cases.following import carried_out, from_the_log, misfit
from tuneledger.car.cases.heldout import held_out
from tuneledger.car.cases.inturn import true_spans
from tuneledger.car.cases.layout import lay_out, log_of, planned
from tuneledger.car.cases.story import Story, UnfitError
from tuneledger.car.cases.truth import NEAR, is_logged, misfits, running_of, truth_of
from tuneledger.car.drive import Plan, Run, drive, switch
from tuneledger.car.logger import Logged
from tuneledger.car.sheets import to_toml

FOLLOWS = 0.5  # share of the allowed error to which entries must follow from the log


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
        run, logged.rows, story.running, first, is_logged(columns, "scheduled advance")
    )
    tolerance = max(0.3, setting.spark_step)
    check(story, books, tolerance)
    if story.ecu is None:
        check_follows(story, run, logged, books)
    left = misfit(story.running, run, logged.rows)
    running = running_of(story, run, logged, left)
    if story.ecu is not None and running and min(misfits(running)) < 2 * NEAR:
        raise UnfitError("one of the revisions fits throughout")
    if story.turns and running is not None:
        running["spans"] = true_spans(story, run, logged, tolerance)
    truth = truth_of(story, kind, seed, logged, books, tolerance) | {"running": running}
    files = {"log.csv": logged.data, "truth.csv": books.csv()}
    files |= {file: to_toml(sheet).encode() for file, sheet in story.sheets}
    if story.other_drive is not None:
        rules = [c["rule"] for c in truth["causes"] if c["kind"] == "hidden rule"]
        if None in rules and not story.unseen:
            raise UnfitError("the contract's rule form cannot say it")
        more, told = held_out(story, plan, logged, run)
        files |= more
        truth |= told
        if not told["identifiable"] and truth["verdict"] == "explained":
            truth["verdicts_accepted"] = ["explained", "unexplained"]
    return Case(kind, seed, truth, files)


def foretell(story: Story, plan: Plan) -> None:
    """A first look on the first drive, so that a hopeless throw costs little."""
    base = story.setting.bench.base
    rows = np.arange(0, base.times.size, 5, dtype=np.int64)
    times = base.times[rows]
    columns = {key: values[rows] for key, values in base.columns.items()}
    columns |= {key: switch(times, spans) for key, spans in plan.switches.items()}
    steps = carried_out(story.running, plan.channels, times, columns)
    tolerance = max(0.3, story.setting.spark_step)
    late = {"limit"} if story.rate else set()
    for name in {*story.acting} - {"other-map"} - late:
        entries = np.array([s.entries.get(name) or 0.0 for s in steps])
        share = float(np.mean(np.abs(entries) > tolerance))
        least, most = _shares(story)
        if share < min(0.01, least) or (name in story.hidden and not least < share < most):
            raise UnfitError(f"{name} will hardly act, or always")


def _shares(story: Story) -> tuple[float, float]:
    """Between which shares of the log a hidden rule has to act."""
    return (0.003 if story.brief else 0.04), (1.01 if story.throughout else 0.9)


def check(story: Story, books: Books, tolerance: float) -> None:
    """What the story is about must be seen; a quiet story must stay quiet."""
    for name in story.acting:
        entry = books.entry(name)
        beyond = np.abs(entry) > tolerance
        least, most = _shares(story)
        if not acts(entry, books, tolerance) or beyond.mean() < min(0.015, least):
            raise UnfitError(f"{name} does not act")
        if name in story.hidden and not least < beyond.mean() < most:
            raise UnfitError(f"{name} acts nearly never or always")
    moved = [n for n, e in books.entries.items() if acts(e, books, tolerance)]
    idle = {c["id"] for c in story.running["spark"]["correction"] if c["reason"] == "idle speed"}
    if set(moved) - set(story.acting) - idle:
        raise UnfitError(f"{moved} act, not only {story.acting}")
    if acts(books.limit, books, tolerance) and "limit" not in story.acting:
        raise UnfitError("limits act")
    if story.quiet and moved:
        raise UnfitError("something acts")


def check_follows(story: Story, run: Run, logged: Logged, books: Books) -> None:
    """What acts must follow from the numbers in the log, else nobody could be asked for it."""
    allowed = FOLLOWS * (0.15 + story.setting.spark_step / 2)
    for name, said in from_the_log(story.running, run, logged).items():
        if story.rate and name == "limit":
            continue  # what is asked for follows, what is still lacking of it does not
        true, known = books.entry(name), np.isfinite(said)
        if known.mean() > 0.5 and np.sqrt(np.mean((said - true)[known] ** 2)) > allowed:
            raise UnfitError(f"{name} does not follow from what the log holds")
