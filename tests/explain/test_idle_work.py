"""An idle governor is told as one beside other rules, and suspected where it cannot be seen."""

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from tests.explain.parts import LEVER, during, with_lever
from tests.explain.told import told
from tests.runs import TOLERANCE, Run, climb, sheet
from tuneledger.explain.model import Cause

RUN = climb()
GOVERNOR: dict[str, Any] = {
    "id": "governor",
    "title": "Idle governor",
    "reason": "idle speed",
    "axes": [
        {
            "signal": "idle speed target",
            "minus": "engine speed",
            "unit": "rpm",
            "at": [-200.0, 0.0, 170.0],
        }
    ],
    "values": [-6.0, 0.0, 5.0],
    "when": [{"signal": "throttle position", "unit": "%", "below": 2.0}],
}


def governed(run: Run) -> Run:
    """Closed throttle, against the speed error, held at the end of its range on the overrun."""
    error = run.signals["idle speed target"] - run.signals["engine speed"]
    posted = np.interp(error, [-200, 0, 170], [-6, 0, 5])
    closed = run.signals["throttle position"] < 2
    return run.post("governor", np.where(closed, np.round(posted, 1), 0.0))


def without_speed(run: Run) -> Run:
    """The log of a car whose logger does not carry engine speed; its road speed it does."""
    road = run.signals["engine speed"] * 0.02
    kept = {name: v for name, v in run.signals.items() if name != "engine speed"}
    return replace(run, signals={**kept, "vehicle speed": road})


def idle_work(causes: tuple[Cause, ...]) -> list[Cause]:
    return [cause for cause in causes if "idle governor" in cause.says.lower()]


@pytest.mark.parametrize("degrees", [-8.0, -5.0])
@pytest.mark.parametrize(
    "spans",
    [
        ((4, 6), (30, 34), (56, 58)),
        ((2, 3), (25, 28), (37, 38), (45, 48), (57, 58)),
    ],
)
def test_a_governor_beneath_another_rule_is_still_the_governor(
    spans: tuple[tuple[float, float], ...], degrees: float
) -> None:
    on = np.any([during(RUN, *span) for span in spans], axis=0)
    statement = told(governed(with_lever(RUN, on)).post("hidden", np.where(on, degrees, 0.0)))
    assert statement.verdict == "explained"
    assert [cause.expected for cause in idle_work(statement.causes)] == [True]
    others = [cause for cause in statement.causes if not cause.expected]
    assert len(others) == 1
    assert f"{LEVER} is 1" in others[0].says


@pytest.mark.parametrize("hidden", [-2.0, -4.0])
@pytest.mark.parametrize("until_s", [45.0, 50.0])
def test_a_listed_governor_that_cannot_be_computed_is_the_likelier(
    hidden: float, until_s: float
) -> None:
    """A rule that nobody wrote down acts until the throttle closes, and as soon as it opens."""
    plate = RUN.signals["throttle position"]
    opened = np.where(during(RUN, 24, until_s) & (plate >= 2), hidden, 0.0)
    run = without_speed(governed(RUN).post("hidden", opened))
    statement = told(run, sheet("rev-d.toml", "D", [GOVERNOR]))
    (suspected,) = (cause for cause in statement.causes if cause.correction == "governor")
    worked = np.abs(run.entries[0].values) > TOLERANCE
    assert suspected.seconds > 0.9 * 0.05 * float(worked.sum())
    assert "−6.0° to +2.4°" in suspected.says
    assert any(need.what == "engine speed" for need in statement.needs)


def test_without_a_sheet_and_an_engine_speed_it_is_perhaps_the_governor() -> None:
    statement = told(without_speed(governed(RUN)))
    work = [cause for cause in statement.causes if cause.kind == "hidden rule"]
    assert work
    assert all(cause.certainty < 0.8 for cause in work)
    assert any(cause.says.startswith("Perhaps the idle governor") for cause in work)
