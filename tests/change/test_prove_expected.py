"""What was ordinary on the first drive is judged anew by what it is on the second."""

from dataclasses import replace

import numpy as np

from tests.change.proofs import of, proof
from tests.explain.parts import governing
from tests.runs import Run, climb, governor, sheet
from tuneledger.change.proof_out import as_text

GOVERNOR = governing(
    (-110.0, 0.0, 110.0),
    {"signal": "engine speed", "unit": "rpm", "below": 1200.0},
    title="Idle governor",
)
IDLING = sheet("rev-d.toml", "D", [GOVERNOR])


def governed() -> Run:
    run = climb()
    return run.post("idle-governor", governor(run))


def with_open_throttle(run: Run) -> Run:
    """The throttle stands open wherever the governor works, and closes at its last moment only."""
    works = np.array([regime == "idle" for regime in run.regime])
    throttle = np.where(works, 9.0, run.signals["throttle position"])
    throttle[-20:] = 0.0
    return replace(run, signals={**run.signals, "throttle position": throttle})


def test_a_governor_that_now_works_with_the_throttle_open_is_no_longer_expected() -> None:
    made = proof(governed(), with_open_throttle(governed()), IDLING)
    one = of(made, "idle-governor")
    assert one.cause.expected
    assert one.state == "remains"
    assert "Expected before, not now" in one.says
    assert "not ordinary: it works with the throttle open" in one.says
    assert made.headline.startswith("Idle governor remains, no longer as expected")
    assert made.exit_status == 1
    assert "Idle governor: remains, expected" not in as_text(made)


def test_a_governor_that_has_become_ordinary_needs_no_asking() -> None:
    made = proof(with_open_throttle(governed()), governed(), IDLING)
    assert not of(made, "idle-governor").cause.expected
    assert of(made, "idle-governor").expected
    assert made.headline.startswith("Nothing but what is expected is left")
    assert made.exit_status == 0


def test_a_governor_that_is_ordinary_on_both_drives_is_no_news() -> None:
    made = proof(governed(), governed(), IDLING)
    assert made.headline.startswith("Nothing but what is expected, before and after")
    assert made.exit_status == 0
