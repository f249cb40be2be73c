"""What to log next: chosen by expected information, never into something unsafe.

The measure is checked against SciPy's entropy, and against the textbook case of J. de Kleer and
B. C. Williams, "Diagnosing multiple faults" (1987): of equally dear measurements the one that
halves the candidates is the best.
"""

from collections.abc import Sequence

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import entropy

from tests.explain.parts import PULL, drive, during, oil_guard, pulling, switched, with_low_oil
from tests.explain.told import first, told
from tests.runs import NAMES, Run, account, climb, sheet
from tuneledger.explain.experiments.asked import _apart
from tuneledger.explain.experiments.choosing import information
from tuneledger.explain.experiments.controls import Option, options
from tuneledger.explain.experiments.hypotheses import prior_of, seen_channels
from tuneledger.explain.model import Rule
from tuneledger.ledger.book import Book, open_book
from tuneledger.roles.inputs import LogInputs
from tuneledger.statement.text import as_text

RUN = climb()
ON = during(RUN, *PULL) | during(RUN, 42.0, 49.0)
PLATE, REV, BOOST = (NAMES[s][0] for s in ("throttle position", "engine speed",
                                           "manifold absolute pressure"))  # fmt: skip


def switches(*names: str) -> Run:
    """The run with these switches, all on in the same rows, and −4° there."""
    run = RUN.post("x", np.where(ON, -4.0, 0.0))
    for name in names:
        run = run.carry(name, ON.astype(float))
    return run


def book_of(run: Run) -> Book:
    made = account(run, "run.csv")
    times = made.log.times(made.log.channels[0])
    book = open_book(made.log, made.roles, LogInputs(made.log, made.roles, times))
    assert book is not None
    return book


def offered(run: Run, channel: str, *cuts: float, timed: bool = False) -> list[Option]:
    book = book_of(run)
    found = book.log.find(channel)
    assert found is not None
    return list(options(book, found, cuts, timed=timed))


# ---- the measure


def test_a_measurement_that_halves_equal_candidates_brings_one_bit() -> None:
    prior = np.full(4, 0.25)
    halves = np.array([[1.0, 0.0], [1.0, 0.0], [0.0, 1.0], [0.0, 1.0]])
    one_of_four = np.array([[1.0, 0.0], [0.0, 1.0], [0.0, 1.0], [0.0, 1.0]])
    assert information(halves, prior) == pytest.approx(1.0)
    assert information(one_of_four, prior) == pytest.approx(entropy([0.25, 0.75], base=2))
    assert information(halves, prior) > information(one_of_four, prior)


def test_an_outcome_that_all_candidates_foresee_brings_nothing() -> None:
    same = np.array([[0.3, 0.7], [0.3, 0.7]])
    assert information(same, np.array([0.5, 0.5])) == pytest.approx(0.0)


@given(st.integers(0, 5000), st.integers(2, 5), st.integers(2, 4))
def test_it_is_the_mutual_information_of_candidate_and_outcome(
    seed: int, candidates: int, outcomes: int
) -> None:
    rng = np.random.default_rng(seed)
    said = rng.dirichlet(np.ones(outcomes), candidates)
    prior = rng.dirichlet(np.ones(candidates))
    joint = prior[:, None] * said
    apart = entropy(prior, base=2) + entropy(prior @ said, base=2)
    together = entropy(joint.ravel(), base=2)
    assert information(said, prior) == pytest.approx(apart - together, abs=1e-9)
    assert 0.0 <= information(said, prior) + 1e-9 <= np.log2(candidates) + 2e-9


# ---- what is asked for


def test_two_switches_that_fit_equally_are_told_apart_at_light_throttle() -> None:
    statement = told(switches("Wet", "Fan"))
    assert first(statement).alternatives
    assert "Next log: light throttle" in first(statement).next_step
    assert first(statement).certainty < 0.8
    one = statement.experiments[0]
    said = one.sentence.removeprefix("Next log: light throttle, ").rstrip(".")
    # One of them alone: only one rule acts there, and nobody is asked for two switches at once.
    assert said in ("Fan on, and watch Wet", "Wet on, and watch Fan")
    assert one.bits > 0.5
    assert "Wet from Fan" in one.tells or "Fan from Wet" in one.tells


def test_three_that_fit_equally_take_two_logs() -> None:
    statement = told(switches("Wet", "Fan", "Lamp"))
    assert len(statement.experiments) == 2
    assert statement.experiments[1].sentence.startswith("Then: light throttle")
    assert "Then: " in first(statement).next_step


def test_the_headline_of_a_doubtful_rule_says_what_to_log_next() -> None:
    statement = told(switches("Wet", "Fan", "Lamp", "Pump"))
    if first(statement).certainty < 0.8:
        assert "Next log: light throttle" in statement.headline
    assert "Next log: light throttle" in as_text(statement)


def test_rules_that_only_load_tells_apart_are_left_alone() -> None:
    taken = np.where(RUN.signals["throttle position"] > 80.0, -4.0, 0.0)
    statement = told(RUN.post("x", taken))
    cause = first(statement)
    names = {NAMES["throttle position"][0], NAMES["manifold absolute pressure"][0]}
    if cause.alternatives and not _twins(statement.experiments):
        assert "Only a drive under load would tell" in cause.next_step
        assert any(name in cause.next_step for name in names)
    for one in statement.experiments:
        assert "above" not in one.sentence


def _apart_of(told: Rule, *rivals: Rule) -> str:
    return _apart(told, rivals)


def test_a_condition_that_may_hold_besides_is_no_rival_of_the_rule() -> None:
    wet, fan = {"channel": "Wet", "is": 1}, {"channel": "Fan", "is": 1}
    oil, air = {"channel": "Oil", "above": 70.0}, {"channel": "Air", "above": 30.0}
    rule, other = Rule((wet,), -4.0), Rule((fan,), -4.0)
    longer = [Rule((wet, one), -4.0) for one in (oil, air, fan)]
    assert _apart_of(rule, longer[0]) == "whether Oil has a part in it"
    assert _apart_of(rule, *longer[:2]) == "whether Oil or Air has a part in it"
    assert _apart_of(rule, *longer) == "whether Oil, Air or another has a part in it"
    assert _apart_of(longer[0], rule) == "whether Oil has a part in it"
    assert _apart_of(rule, other) == "Wet from Fan"
    assert _apart_of(rule, longer[0], other) == "Wet from Oil and Fan"


def _twins(found: Sequence[object]) -> bool:
    return not found


def test_two_sensors_that_say_the_same_ask_for_nothing() -> None:
    plate = RUN.signals["throttle position"]
    run = RUN.post("x", np.where(plate > 80.0, -4.0, 0.0)).carry(
        "Plate 2", np.round(plate + 0.4, 1)
    )
    statement = told(run)
    for one in statement.experiments:
        assert "Plate from Plate 2" not in one.tells


def test_nothing_is_tried_where_delivered_stands_above_scheduled_under_load() -> None:
    run = RUN.post("x", np.where(ON, 4.0, 0.0))
    run = run.carry("Wet", ON.astype(float)).carry("Fan", ON.astype(float))
    statement = told(run)
    assert first(statement).raises_under_load
    assert statement.experiments == ()
    assert "Next log" not in first(statement).next_step


def test_a_switch_that_by_its_name_protects_is_not_touched() -> None:
    statement = told(switches("Oil guard", "Fan"))
    for one in statement.experiments:
        assert "Oil guard o" not in one.sentence


def test_a_suspicion_asks_for_its_channel_at_a_rate_that_would_show_it() -> None:
    run = RUN.post("oil-guard", pulling(RUN, -5.0))
    statement = told(run, sheet("rev-d.toml", "D", [oil_guard(-5.0)]))
    assert statement.verdict == "cannot tell"
    assert "Log Oil gallery at 10 Hz on the next run." in first(statement).next_step
    brief = RUN.post("oil-guard", np.where(during(RUN, 25.0, 25.3), -5.0, 0.0))
    statement = told(brief, sheet("rev-d.toml", "D", [oil_guard(-5.0)]))
    assert "at 50 Hz" in first(statement).next_step


def test_revisions_that_fit_alike_are_told_apart_by_the_switch_that_only_one_reads() -> None:
    gone = {"channel": "Lever", "is": "on", "held": 2.0}
    one = switched("extra", -4.0, reason="driver switch", when=[gone])
    # The lever is on for a moment that is too short for either revision to act.
    run = RUN.carry("Lever", during(RUN, 30.0, 30.5).astype(float))
    statement = told(run, sheet("rev-d.toml", "D", [one]), sheet("rev-c.toml", "C"))
    assert statement.running is not None
    assert statement.running.twins == ("rev-c.toml",)
    (asked,) = statement.experiments
    assert asked.sentence == "Next log: light throttle, Lever on."
    assert asked.tells == "revision D from C"
    assert asked.bits == pytest.approx(1.0, abs=0.1)
    assert "Try next" in as_text(statement)


def test_revisions_that_differ_under_load_only_are_left_alone() -> None:
    load = {"signal": "manifold absolute pressure", "unit": "kPa", "above": 240.0}
    one = switched("extra", -4.0, when=[load])
    statement = told(RUN, sheet("rev-d.toml", "D", [one]), sheet("rev-c.toml", "C"))
    (asked,) = statement.experiments
    assert asked.sentence.startswith("No mild drive would tell revision D from C")


def test_revisions_that_read_what_the_log_lacks_ask_for_it() -> None:
    statement = told(RUN, sheet("rev-d.toml", "D", [oil_guard(-4.0)]), sheet("rev-c.toml", "C"))
    assert [one.sentence for one in statement.experiments] == ["Log Oil gallery on the next run."]


# ---- what may be asked for


@given(st.lists(st.floats(0.0, 100.0), min_size=1, max_size=5))
def test_a_throttle_is_never_asked_to_open_wide(cuts: list[float]) -> None:
    assert all(option.value <= 31.0 for option in offered(RUN, PLATE, *cuts))


@given(st.lists(st.floats(500.0, 7000.0), min_size=1, max_size=5))
def test_no_high_engine_speed_is_asked_for(cuts: list[float]) -> None:
    highest = float(RUN.signals["engine speed"].max())
    assert all(option.value <= 0.7 * highest for option in offered(RUN, REV, *cuts))


def test_what_only_follows_cannot_be_set() -> None:
    assert offered(RUN, BOOST, 80.0, 120.0) == []
    assert offered(with_low_oil(RUN), "Oil gallery", 200.0) == []


def test_no_engine_is_made_hot() -> None:
    air = NAMES["intake air temperature"][0]
    assert all(option.value <= 45.0 for option in offered(RUN, air, 40.0, 44.0, 55.0, 60.0))


def test_a_switch_offers_both_states_and_the_moment_at_which_it_turns() -> None:
    run = switches("Wet")
    assert {o.says for o in offered(run, "Wet")} == {"Wet on", "Wet off"}
    timed = {o.says for o in offered(run, "Wet", timed=True)}
    assert timed == {"Wet on", "Wet off", "Wet just switched on", "Wet just let go"}


def test_a_flag_that_flickers_is_no_switch_of_the_driver() -> None:
    flicker = (np.arange(RUN.times.size) % 4 < 2).astype(float)
    assert offered(RUN.carry("Flag", flicker), "Flag") == []


# ---- what is known of the candidates


def test_thresholds_releases_and_timers_are_all_seen() -> None:
    rule = Rule(
        when=(
            {"channel": "Plate", "above": 55.0, "release": 50.0},
            {"since": {"channel": "Wet", "is": 1}, "unit": "s", "below": 2.0},
            {"any": ({"channel": "Fan", "is": 1}, {"channel": "Oil", "between": [1.0, 2.0]})},
        ),
        amount_deg=-3.0,
    )
    seen = seen_channels([rule])
    assert seen["Plate"].cuts == {55.0, 50.0}
    assert seen["Wet"].timed
    assert not seen["Fan"].timed
    assert seen["Oil"].cuts == {1.0, 2.0}


@pytest.mark.parametrize("count", [2, 3, 7])
def test_the_prior_sums_to_one_and_falls(count: int) -> None:
    prior = prior_of(first(told(switches("Wet", "Fan"))), count)
    assert prior.sum() == pytest.approx(1.0)
    assert (np.diff(prior) <= 1e-12).all()


def test_a_drive_without_a_mild_moment_asks_for_none() -> None:
    size = RUN.times.size
    wide = drive(
        np.linspace(3000, 6500, size), np.full(size, 90.0), np.linspace(150, 195, size)
    ).post("x", np.where(ON, -4.0, 0.0))
    statement = told(wide.carry("Wet", ON.astype(float)).carry("Fan", ON.astype(float)))
    assert all(one.bits == 0.0 for one in statement.experiments)
