"""What may hurt an engine is never talked away: raises, silent doubts, governors that are none."""

import numpy as np
import pytest

from tests.explain.parts import (
    LEVER,
    PULL,
    drive,
    during,
    only,
    pulling,
    switched,
    with_lever,
    with_spark,
)
from tests.explain.told import first, told
from tests.runs import Run, along, charge_air, climb, governor, sheet
from tuneledger.arrays import FloatArray
from tuneledger.statement.model import Statement, SuppliedSheet

RUN = climb()
D = sheet("rev-d.toml", "D")
GOVERNOR = {
    "id": "governor",
    "title": "Idle governor",
    "reason": "idle speed",
    "logged_as": "Governor share",
}


def stops(statement: Statement) -> bool:
    return (
        statement.raised_under_load
        and statement.exit_status != 0
        and statement.headline.startswith("Stop")
        and first(statement).raises_under_load
    )


# --- doubt at a threshold


def hot_engine() -> SuppliedSheet:
    hot = {
        "id": "hot-engine",
        "reason": "coolant temperature",
        "amount": -6.0,
        "when": [{"channel": "Water", "above": 90.0}],
    }
    return sheet("rev-d.toml", "D", [hot])


STILL = np.full_like(RUN.times, 90.0)
ROUNDED = np.round(90.0 + 0.4 * np.sin(RUN.times))
NOISY = np.round(90.3 + 0.25 * np.random.default_rng(3).standard_normal(RUN.times.size), 1)
BETWEEN_STEPS = 90.0 + (np.random.default_rng(3).random(RUN.times.size) > 0.5)


@pytest.mark.parametrize(
    "water",
    [STILL, ROUNDED, NOISY, BETWEEN_STEPS],
    ids=["still", "rounded", "noisy", "between two steps"],
)
def test_doubt_whether_a_retard_was_on_never_hides_a_raise(water: FloatArray) -> None:
    run = with_lever(RUN).post("x", pulling(RUN, 5.0)).carry("Water", water)
    statement = told(run, hot_engine())
    assert statement.verdict not in ("agrees", "expected")
    assert statement.exit_status == 1
    assert stops(statement)
    assert "190 kPa" in statement.headline


def test_doubt_whether_a_retard_was_on_is_no_finding_by_itself() -> None:
    rng = np.random.default_rng(3)
    water = np.round(90.0 + 0.05 * rng.standard_normal(RUN.times.size), 1)
    assert told(RUN.carry("Water", water), hot_engine()).verdict == "agrees"


# --- raises under load


@pytest.mark.parametrize("at_s", [26.0, 26.03, 44.0])
def test_two_samples_at_ten_a_second_are_enough_to_stop_for(at_s: float) -> None:
    run = climb(60.0, 10.0)
    statement = told(run.post("x", np.where(during(run, at_s, at_s + 0.25), 6.0, 0.0)), D)
    assert stops(statement)


@pytest.mark.parametrize("complete", [True, False])
def test_a_complete_sheet_does_not_account_for_a_brief_raise_that_it_does_not_list(
    complete: bool,
) -> None:
    run = climb(60.0, 10.0)
    rows = during(run, 26.0, 26.25)
    listed = with_spark(D, complete=complete)
    running = told(run.post("x", np.where(rows, 6.0, 0.0)), listed).running
    assert running is not None
    assert running.matches_supplied is not complete
    assert running.best == "D"


def test_a_brief_raise_that_the_owner_wants_is_still_a_raise() -> None:
    run = climb(60.0, 10.0)
    rows = during(run, 26.0, 26.25)
    wanted = sheet("rev-d.toml", "D", [switched("extra", 6.0, expected="the owner says so")])
    statement = told(with_lever(run, rows).post("extra", np.where(rows, 6.0, 0.0)), wanted)
    assert stops(statement)


@pytest.mark.parametrize(
    "signals",
    [
        ("engine speed",),
        ("engine speed", "intake air temperature"),
        ("engine speed", "throttle position"),
        ("manifold absolute pressure",),
        ("throttle position",),
    ],
)
def test_a_wanted_raise_never_ends_well_however_little_was_logged(signals: tuple[str, ...]) -> None:
    wanted = sheet("rev-d.toml", "D", [switched("extra", 6.0, expected="the owner says so")])
    run = with_lever(only(RUN, *signals)).post("extra", pulling(RUN, 6.0))
    assert stops(told(run, wanted))


def test_a_wanted_retard_with_only_engine_speed_logged_does_end_well() -> None:
    wanted = sheet("rev-d.toml", "D", [switched("less", -6.0, expected="the owner says so")])
    run = with_lever(only(RUN, "engine speed")).post("less", pulling(RUN, -6.0))
    assert told(run, wanted).exit_status == 0


# --- to and fro


@pytest.mark.parametrize("pattern", [(1, -1), (1, 1, -1, -1), (1, 0, -1, 0)])
def test_advance_that_jumps_to_and_fro_from_row_to_row_is_no_slope(
    pattern: tuple[int, ...],
) -> None:
    jumps = 6.0 * np.resize(pattern, RUN.times.size)
    statement = told(RUN.post("x", np.where(during(RUN, *PULL), jumps, 0.0)), D)
    assert statement.verdict not in ("agrees", "expected")
    assert stops(statement)


# --- governors


@pytest.mark.parametrize("degrees", [-25.0, -10.0, 4.0])
@pytest.mark.parametrize("more", [{}, {"range": (-30.0, 10.0)}])
def test_a_governor_that_works_at_full_throttle_is_not_ordinary(
    degrees: float, more: dict[str, object]
) -> None:
    share = pulling(RUN, degrees)
    run = RUN.post("governor", share).carry("Governor share", share)
    statement = told(run, sheet("rev-d.toml", "D", [{**GOVERNOR, **more}]))
    assert first(statement).correction == "governor"
    assert not first(statement).expected
    assert statement.exit_status == 1


def test_the_same_governor_at_idle_is_ordinary() -> None:
    share = governor(RUN)
    run = RUN.post("governor", share).carry("Governor share", share)
    assert told(run, sheet("rev-d.toml", "D", [GOVERNOR])).verdict == "expected"


def test_a_governor_is_not_taken_on_trust_where_no_throttle_is_logged() -> None:
    run, share = only(RUN, "engine speed", "idle speed target"), governor(RUN)
    run = run.post("governor", share).carry("Governor share", share)
    assert not first(told(run, sheet("rev-d.toml", "D", [GOVERNOR]))).expected


def cruise(open_pct: float) -> Run:
    """Steady road speed, with the small swings that a road has."""
    swing = np.sin(RUN.times)
    return drive(3000 + 50 * swing, open_pct + 0.3 * swing, 60 + 0 * swing)


def governed(run: Run) -> FloatArray:
    """What a governor would post, wherever the throttle stands, around the mean speed."""
    speed = run.signals["engine speed"]
    return np.round(np.interp(np.mean(speed) - speed, [-110, 0, 110], [-6, 0, 5]), 1)


@pytest.mark.parametrize("open_pct", [6.0, 15.0])
def test_a_steady_cruise_is_not_a_closed_throttle(open_pct: float) -> None:
    run = cruise(open_pct)
    share = governed(run)
    run = run.post("governor", share).carry("Governor share", share)
    statement = told(run, sheet("rev-d.toml", "D", [GOVERNOR]))
    assert first(statement).correction == "governor"
    assert not first(statement).expected
    assert {episode.regime for episode in statement.episodes} == {"cruise"}


def test_a_steady_cruise_is_not_a_closed_throttle_without_a_sheet_either() -> None:
    run = cruise(15.0)
    statement = told(run.post("governor", governed(run)))
    assert statement.verdict != "expected"
    assert not any(cause.expected for cause in statement.causes)


# --- knock


KNOCK = {"id": "knock", "reason": "knock", "expected": "known on this fuel"}


@pytest.mark.parametrize(
    "correction", [{**KNOCK, **switched("knock", -3.0)}, {**KNOCK, "logged_as": LEVER}]
)
def test_knock_control_that_the_owner_expects_is_still_asked_about(
    correction: dict[str, object],
) -> None:
    carried = pulling(RUN, -3.0) if "logged_as" in correction else during(RUN, *PULL) * 1.0
    run = RUN.post("knock", pulling(RUN, -3.0)).carry(LEVER, carried)
    statement = told(run, sheet("rev-d.toml", "D", [correction]))
    assert first(statement).expected
    assert "why it acted" in first(statement).next_step
    assert "knock" in first(statement).next_step


def test_a_rule_in_no_file_that_takes_advance_by_what_guards_watch_is_asked_about() -> None:
    run = climb()
    hot = run.signals["intake air temperature"] > 55.0
    statement = told(run.post("x", np.where(hot, -4.0, 0.0)))
    (cause,) = statement.causes
    assert cause.kind == "hidden rule"
    assert "may protect the engine, since it follows Air in" in cause.next_step
    assert "find out why it acted before any change" in cause.next_step


def test_a_rule_that_takes_advance_from_cool_air_alone_is_not_said_to_protect_the_engine() -> None:
    run = climb()
    cool = run.signals["intake air temperature"] < 45.0
    (cause, *_) = told(run.post("x", np.where(cool, -4.0, 0.0))).causes
    assert cause.rule is not None
    assert "Air in" in cause.says
    assert "may protect the engine" not in cause.next_step


def test_what_adds_advance_is_not_said_to_protect_the_engine() -> None:
    run = climb()
    adding = along(run, "intake air temperature", (20.0, 40.0, 60.0, 80.0), (0.0, 0.0, 1.0, 2.0))
    idle = np.array([r == "load" for r in run.regime])
    statement = told(
        run.post("x", np.where(idle, 0.0, adding)),
        sheet(
            "rev-d.toml",
            "D",
            [
                {
                    **charge_air((0.0, 0.0, 1.0, 2.0)),
                    "when": [{"signal": "throttle position", "unit": "%", "below": 50.0}],
                }
            ],
        ),
    )
    assert not any("It protects" in cause.next_step for cause in statement.causes)
