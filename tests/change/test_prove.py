"""Before and after a change: gone, remains, not shown, new."""

import json
from dataclasses import replace

import numpy as np
import pytest

from tests.change.proofs import HOT, LEVER, cut, hot, of, proof
from tests.explain.parts import (
    DEG,
    oil_guard,
    only,
    pulling,
    switched,
    with_lever,
    with_low_oil,
)
from tests.explain.test_hidden_rules import stabs, turned_on
from tests.explain.told import told, told_of
from tests.runs import charge_air, climb, governor, sheet
from tuneledger.change.naming import called
from tuneledger.change.proof_out import as_json, as_text
from tuneledger.change.prove import prove_statements


def test_what_is_the_same_on_both_drives_remains() -> None:
    made = proof(hot(climb()), hot(climb()), HOT)
    assert of(made, "charge-air").state == "remains"
    assert "and takes 2.3° for" in of(made, "charge-air").says
    assert made.coverage > 0.99
    assert made.new == ()
    assert made.exit_status == 1


def test_what_the_second_drive_should_have_shown_and_did_not_is_gone() -> None:
    made = proof(hot(climb()), climb(), HOT)
    one = of(made, "charge-air")
    assert one.state == "gone"
    assert "nothing of it is left" in one.says
    assert "where it would have acted for" in one.says


def test_what_was_only_eased_remains_with_its_new_size() -> None:
    made = proof(hot(climb()), hot(climb(), (0.0, 0.0, -1.5, -3.0)), HOT)
    one = of(made, "charge-air")
    assert one.state in ("remains", "gone")
    assert one.now is not None
    assert abs(one.now.degrees) < abs(one.cause.degrees)


@pytest.mark.parametrize("spans", [((18.0, 60.0),), ((8.0, 56.0),)])
def test_where_the_second_drive_did_not_go_nothing_is_shown(
    spans: tuple[tuple[float, float], ...],
) -> None:
    """The retard acted from 20 s on; the second log is cut before it."""
    run = with_lever(climb()).post("lever", pulling(climb(), -4.0))
    made = proof(run, cut(with_lever(climb()), *spans), LEVER)
    one = of(made, "lever")
    assert one.state == "not shown"
    assert "Not shown is not fixed" in one.says
    assert made.exit_status == 3
    assert "not shown" in made.headline


def test_going_there_without_its_condition_shows_nothing() -> None:
    """The whole hill again, but with the lever off."""
    run = with_lever(climb()).post("lever", pulling(climb(), -4.0))
    off = with_lever(climb(), np.zeros(climb().times.shape, dtype=bool))
    made = proof(run, off, LEVER)
    one = of(made, "lever")
    assert one.state == "not shown"
    assert one.covered == pytest.approx(1.0)
    assert "but not under its conditions" in one.says
    assert "acts of itself" in one.says


def test_going_there_with_its_condition_shows_that_it_is_gone() -> None:
    run = with_lever(climb())
    made = proof(run.post("lever", pulling(run, -4.0)), run, LEVER)
    assert of(made, "lever").state == "gone"
    assert made.exit_status == 0


def test_the_more_of_the_second_log_is_cut_the_less_is_covered() -> None:
    before = hot(climb())
    covered = [
        proof(before, cut(climb(), (start, 60.0)), HOT).coverage for start in (60, 38, 24, 12)
    ]
    assert covered == sorted(covered, reverse=True)
    assert covered[0] > 0.99
    assert covered[-1] < 0.6


def test_a_second_log_without_its_input_shows_nothing() -> None:
    guard = sheet("rev-d.toml", "D", [oil_guard(-8.0)])
    run = with_low_oil(climb())
    made = proof(run.post("oil-guard", pulling(run, -8.0)), climb(), guard)
    one = of(made, "oil-guard")
    assert one.state == "not shown"
    assert "the second log does not carry Oil gallery" in one.says
    assert "does not carry Oil gallery" in made.headline
    assert "not driven again" not in made.headline


def test_a_missing_switch_is_said_even_where_other_conditions_are_known() -> None:
    """Off boost the rule is surely off; on boost it turns on a switch that the log lacks."""
    when = [{"channel": "Lever", "is": "on"}, {"signal": "throttle position", "above": 20.0}]
    both = sheet("rev-d.toml", "D", [switched("lever", -4.0, when=when)])
    run = with_lever(climb()).post("lever", pulling(climb(), -4.0))
    made = proof(run, climb(), both)
    one = of(made, "lever")
    assert one.state == "not shown"
    assert one.covered > 0.9
    assert one.why == "the second log does not carry Lever"


def test_logs_without_speed_or_load_in_common_show_nothing_of_each_other() -> None:
    other = only(climb(), "intake air temperature")
    assert proof(with_lever(hot(climb())), other).coverage == 0.0


def test_a_rule_that_no_sheet_lists_only_seems_to_remain() -> None:
    run = with_lever(climb())
    ruled = run.post("stranger", pulling(run, -4.0))
    made = proof(ruled, ruled)
    assert made.headline.startswith("Something like the rule read out of the log remains")
    assert "; something like it takes 4.0°" in made.causes[0].says


def test_two_rules_are_called_by_what_tells_them_apart() -> None:
    run = stabs()
    wet = turned_on(run, (3, 18), (33, 47))
    fast = run.signals["engine speed"] > 4100.0
    values = np.where(wet, -3.0, 0.0) + np.where(fast, -4.5, 0.0)
    ruled = run.carry("Wet", wet.astype(float)).post("x", values)
    made = proof(ruled, ruled)
    names = [called(p.cause, made.before) for p in made.causes]
    assert len(set(names)) == 2
    assert all(name.startswith("the rule read out of the log (while ") for name in names)
    assert any("while Wet is 1" in name for name in names)
    assert " remain." in made.headline
    assert as_text(made).count("…: remains") == 2, "a long name leaves its state to be read"


def test_two_causes_that_nothing_explained_go_by_their_number() -> None:
    made = proof(hot(climb()), hot(climb()), HOT)
    one = replace(made.before.causes[0], kind="unknown", correction=None, channel=None)
    two = replace(one, rank=2, revision=None)
    both = replace(made.before, causes=(replace(one, revision=None), two))
    assert [called(c, both) for c in both.causes] == [
        "what nothing explained (number 1)",
        "what nothing explained (number 2)",
    ]


def test_several_that_remain_are_told_in_the_plural() -> None:
    run = with_lever(hot(climb())).post("lever", pulling(climb(), -4.0))
    both = sheet("rev-d.toml", "D", [charge_air(DEG), switched("lever", -4.0)])
    assert " and lever remain." in proof(run, run, both).headline


def test_what_only_the_second_drive_shows_is_new() -> None:
    run = with_lever(climb())
    both = sheet("rev-d.toml", "D", [charge_air(DEG), switched("lever", -4.0)])
    off = with_lever(hot(climb()), np.zeros(climb().times.shape, dtype=bool))
    made = proof(off, run.post("lever", pulling(run, -4.0)), both)
    assert [cause.correction for cause in made.new] == ["lever"]
    assert of(made, "charge-air").state == "gone"
    assert made.exit_status == 1
    assert "new: lever" in made.headline


def test_a_protection_that_stayed_silent_and_acts_again_is_told_as_that() -> None:
    run = with_lever(climb())
    made = proof(run, run.post("lever", pulling(run, -4.0)), LEVER)
    one = of(made, "lever")
    assert one.state == "gone"
    assert one.says.startswith("Lever stayed silent for 10 s, where the sheet has −4.0°")
    assert made.new == ()


def test_the_idle_governor_before_and_after_is_no_news() -> None:
    run = climb().post("idle-governor", governor(climb()))
    made = proof(run, run)
    assert {p.state for p in made.causes} == {"remains"}
    assert made.exit_status == 0
    assert "Nothing but what is expected" in made.headline


def test_a_hidden_rule_is_looked_for_by_what_it_would_do() -> None:
    run = with_lever(climb())
    ruled = run.post("stranger", pulling(run, -4.0))
    gone, still = proof(ruled, run), proof(ruled, ruled)
    assert [p.state for p in gone.causes] == ["gone"]
    assert [p.state for p in still.causes] == ["remains"]
    assert still.new == ()
    off = with_lever(climb(), np.zeros(climb().times.shape, dtype=bool))
    assert [p.state for p in proof(ruled, off).causes] == ["not shown"]


def test_advance_above_scheduled_under_load_comes_first_on_any_day() -> None:
    run = with_lever(climb())
    raised = run.post("lever", pulling(run, 4.0))
    made = proof(hot(run), raised, sheet("d", "D", [charge_air(DEG), switched("lever", 4.0)]))
    assert made.headline.startswith("Stop")
    # Gone or not, the cause that was asked about is told all the same.
    assert "Of the first drive: Hot charge air, which protects the engine, is gone" in made.headline
    assert made.exit_status == 1


def test_several_logs_on_each_side_are_taken_together() -> None:
    run = hot(climb())
    halves = [cut(climb(), (30.0, 60.0)), cut(climb(), (0.0, 30.0))]
    made = prove_statements(told(run, HOT), told_of(halves, HOT))
    assert of(made, "charge-air").state == "gone"
    half = prove_statements(told(run, HOT), told_of(halves[:1], HOT))
    assert half.coverage < made.coverage


def test_a_log_without_delivered_proves_nothing() -> None:
    made = prove_statements(told(hot(climb()), HOT), told(climb(), HOT, delivered=False))
    assert made.exit_status == 3
    assert made.headline.startswith("Cannot tell")
    assert as_json(made)["causes"] == [] or all(
        c["state"] == "not shown" for c in as_json(made)["causes"]
    )


def test_the_answer_has_the_contract_s_keys_and_the_screen_fits() -> None:
    made = proof(hot(climb()), climb(), HOT)
    answer = as_json(made)
    assert list(answer) == ["format", "causes", "new", "coverage"]
    assert list(answer["causes"][0]) == ["before", "state", "says"]
    assert json.loads(json.dumps(answer)) == answer
    text = as_text(made)
    assert max(map(len, text.splitlines())) <= 80
    assert text.startswith("Hot charge air, which protects the engine, is gone")
    assert "(99 % of where it showed was driven again)" in " ".join(text.split())
