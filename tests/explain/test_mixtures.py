"""Whatever mixture of corrections a sheet holds: a run that follows it is accounted for by it."""

import json
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from importlib.resources import files
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from jsonschema import Draft202012Validator

from tests.explain.parts import every_episode_has_a_cause
from tests.explain.told import told
from tests.runs import TOLERANCE, Run, climb, sheet
from tuneledger.arrays import FloatArray
from tuneledger.statement.json import as_json
from tuneledger.statement.model import Statement
from tuneledger.statement.table import ledger_table

RUN = climb()
ROWS_PER_S = 20.0
LOWEST, HIGHEST = -8.0, 38.0
SCHEMA = json.loads(files("tuneledger.statement").joinpath("statement.schema.json").read_text())
CHECK = Draft202012Validator(SCHEMA)
HALVES = st.integers(-16, 4).map(lambda half: half / 2)


@dataclass(frozen=True)
class Part:
    """One correction as the sheet writes it, and what it takes by hand, row by row."""

    written: dict[str, Any]
    taken: FloatArray
    channel: tuple[str, FloatArray] | None = None


AXES = {
    "intake air temperature": ("degC", (36.0, 44.0, 52.0, 60.0)),
    "engine speed": ("rpm", (1000.0, 3000.0, 5000.0, 7000.0)),
    "manifold absolute pressure": ("kPa", (40.0, 90.0, 140.0, 190.0)),
}


@st.composite
def tables(draw: st.DrawFn, name: str, signals: Sequence[str]) -> Part:
    signal = draw(st.sampled_from(signals))
    unit, at = AXES[signal]
    values = tuple(draw(st.lists(HALVES, min_size=4, max_size=4)))
    axis = {"signal": signal, "unit": unit, "at": at}
    return Part(
        {"id": name, "axes": [axis], "values": values},
        np.interp(RUN.signals[signal], at, values),
    )


@st.composite
def switches(draw: st.DrawFn, name: str) -> Part:
    degrees, start = draw(HALVES), draw(st.integers(2, 50))
    lasts = draw(st.integers(1, 12))
    on = (RUN.times >= start) & (RUN.times < start + lasts)
    return Part(
        {"id": name, "amount": degrees, "when": [{"channel": f"Switch {name}", "is": "on"}]},
        np.where(on, degrees, 0.0),
        (f"Switch {name}", on.astype(float)),
    )


@st.composite
def thresholds(draw: st.DrawFn, name: str) -> Part:
    degrees = draw(HALVES)
    signal, unit, level = draw(
        st.sampled_from(
            [
                ("throttle position", "%", 55.0),
                ("engine speed", "rpm", 4100.0),
                ("intake air temperature", "degC", 50.3),
            ]
        )
    )
    way = draw(st.sampled_from(("above", "below")))
    compare: Callable[[FloatArray, float], Any] = np.greater if way == "above" else np.less
    return Part(
        {"id": name, "amount": degrees, "when": [{"signal": signal, "unit": unit, way: level}]},
        np.where(compare(RUN.signals[signal], level), degrees, 0.0),
    )


@st.composite
def mixtures(draw: st.DrawFn, signals: Sequence[str] = tuple(AXES)) -> tuple[Part, ...]:
    """One to three corrections; `signals`: what a table may read."""
    kinds = draw(st.lists(st.sampled_from("tsh"), min_size=1, max_size=3))
    parts = []
    for i, kind in enumerate(kinds, start=1):
        name = f"part-{i}"
        made = {"t": tables(name, signals), "s": switches(name), "h": thresholds(name)}
        parts.append(draw(made[kind]))
    return tuple(parts)


def driven(parts: tuple[Part, ...]) -> Run:
    """The run in which just these corrections acted, within the sheet's limits."""
    run = RUN
    for part in parts:
        run = run.post(part.written["id"], part.taken)
        if part.channel is not None:
            run = run.carry(*part.channel)
    wanted = RUN.scheduled + np.sum([part.taken for part in parts], axis=0)
    return run.post("limit", np.clip(wanted, LOWEST, HIGHEST) - wanted)


def balance(statement: Statement) -> FloatArray:
    """Scheduled + entries + unaccounted − delivered, as the ledger is written, where all stand."""
    table = ledger_table(statement.logs).drop_nulls()
    entries = [name for name in table.columns if name.startswith("entry:")]
    total = table.select("scheduled_deg", *entries, "unaccounted_deg").sum_horizontal()
    assert table.height > 0.9 * RUN.times.size
    return (total - table["delivered_deg"]).to_numpy()


def areas(parts: tuple[Part, ...]) -> dict[str, float]:
    """Degrees × seconds that each correction posted by hand, where it goes beyond tolerance."""
    return {
        part.written["id"]: float(part.taken[np.abs(part.taken) > TOLERANCE].sum()) / ROWS_PER_S
        for part in parts
    }


def told_with_its_sheet(parts: tuple[Part, ...]) -> Statement:
    return told(driven(parts), sheet("rev-d.toml", "D", [part.written for part in parts]))


@settings(max_examples=20)
@given(mixtures())
def test_a_run_that_follows_its_sheet_balances_and_is_written_as_the_schema_has_it(
    parts: tuple[Part, ...],
) -> None:
    statement = told_with_its_sheet(parts)
    CHECK.validate(as_json(statement))
    assert np.abs(balance(statement)).max() < 1e-3
    assert every_episode_has_a_cause(statement)


@settings(max_examples=20)
@given(mixtures())
def test_every_cause_has_its_corrections_degrees_times_seconds(parts: tuple[Part, ...]) -> None:
    posted = areas(parts)
    for cause in told_with_its_sheet(parts).causes:
        if cause.correction is not None:
            area = posted[cause.correction]
            found = cause.degrees * cause.seconds
            assert found == pytest.approx(area, abs=0.1 * cause.seconds + 1.0)
            assert abs(area) < 2.0 or np.sign(found) == np.sign(area)


@settings(max_examples=20)
@given(mixtures(signals=("intake air temperature",)))
def test_a_run_that_follows_its_sheet_runs_its_sheet(parts: tuple[Part, ...]) -> None:
    statement = told_with_its_sheet(parts)
    assert statement.running is not None
    assert statement.running.best == "D"
    assert statement.running.matches_supplied
    assert statement.verdict in ("agrees", "explained")
    assert statement.needs == ()


@settings(max_examples=3)
@given(mixtures())
def test_a_run_without_any_sheet_balances_too(parts: tuple[Part, ...]) -> None:
    statement = told(driven(parts))
    CHECK.validate(as_json(statement))
    assert np.abs(balance(statement)).max() < 1e-3
    assert every_episode_has_a_cause(statement)
