"""No scheduled advance and no sheet: what delivered alone shows."""

from dataclasses import replace

import numpy as np
from scipy.interpolate import RegularGridInterpolator

from tests.explain.parts import during
from tests.explain.told import told
from tests.runs import MAP, PRESSURES, SPEEDS, Run, account, climb
from tuneledger.accounting import reconcile
from tuneledger.roles.model import Doubt
from tuneledger.statement.facts import compared
from tuneledger.statement.reply import reply
from tuneledger.supplied import Supplied


def wandering(seed: int = 3, seconds: float = 180.0) -> Run:
    """A drive that is in most places of the map more than once."""
    rng = np.random.default_rng(seed)
    base = climb(length_s=seconds)
    knots = np.linspace(0.0, seconds, 60)

    def way(low: float, high: float) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
        return np.interp(base.times, knots, rng.uniform(low, high, knots.size))

    speed, pressure = way(1500, 6500), way(50, 195)
    surface = RegularGridInterpolator((PRESSURES, SPEEDS), np.array(MAP))
    signals = {
        **base.signals,
        "engine speed": speed,
        "manifold absolute pressure": pressure,
        "throttle position": way(10, 95),
    }
    scheduled = np.round(surface(np.column_stack([pressure, speed])), 1)
    return replace(base, signals=signals, scheduled=scheduled)


def test_the_verdict_stays_cannot_tell_and_the_map_is_told_with_its_coverage() -> None:
    statement = told(wandering(), logged=False)
    assert statement.verdict == "cannot tell"
    assert statement.causes == ()
    assert statement.exit_status == 3
    (note,) = [n for n in statement.notes if n.startswith("read out of delivered alone")]
    assert "manifold absolute pressure" in note
    assert "the run has been in" in note
    assert "scheduled advance" in [need.what for need in statement.needs]


def test_a_switch_that_takes_degrees_now_and_then_stands_out_beyond_the_map() -> None:
    run = wandering()
    on = np.zeros(run.times.shape, dtype=np.bool_)
    for start in (20.0, 61.0, 97.0, 140.0):
        on |= during(run, start, start + 7.0)
    run = run.carry("Wet", on.astype(float)).post("x", np.where(on, -5.0, 0.0))
    statement = told(run, logged=False)
    assert statement.verdict == "cannot tell"
    beyond = [n for n in statement.notes if n.startswith("beyond that map")]
    assert any("Wet is 1" in note and "a guess" in note for note in beyond)


def test_where_nothing_acts_nothing_is_said_to_stand_out() -> None:
    for seed in range(3):
        statement = told(wandering(seed), logged=False)
        assert not [n for n in statement.notes if n.startswith("beyond that map")]


def test_without_delivered_there_is_no_map_either() -> None:
    statement = told(wandering(), delivered=False)
    assert not [n for n in statement.notes if "map over" in n]


def test_a_channel_that_may_be_scheduled_is_named_and_not_said_to_be_missing() -> None:
    book = account(wandering(), "run.csv")
    asked = book.roles.by_signal["scheduled advance"].channel
    others = {k: r for k, r in book.roles.by_signal.items() if k != "scheduled advance"}
    doubt = Doubt("scheduled advance", ((asked, 0.74),), "only one thing speaks for it")
    roles = replace(book.roles, by_signal=others, doubts=(doubt,))
    statement = reconcile(Supplied(((book.log, roles),), ()))
    assert statement.verdict == "cannot tell"
    assert f"perhaps {asked.name} (74 %)" in statement.headline
    assert "--roles" in statement.headline
    assert "carries no scheduled" not in statement.headline
    assert compared(statement)[0].endswith("but no channel is surely scheduled")
    # whoever holds the car is asked which it is; the roles file is the sender's affair
    assert "--roles" not in reply(statement)
    assert f"{asked.name} (74 %), or another?" in reply(statement).replace("\n", " ")
