"""The numbers of rules in no file follow the rank of their causes, wherever they are named."""

import numpy as np

from tests.explain.parts import during, with_lever
from tests.explain.told import told
from tests.runs import acting, climb, sheet
from tuneledger.statement.model import Statement

RUN = climb()
LONG = during(RUN, 8.0, 16.0) | during(RUN, 36.0, 44.0) | during(RUN, 48.0, 56.0)
BRIEF = during(RUN, 25.0, 28.0) | during(RUN, 30.0, 33.0)


def two_rules() -> Statement:
    """A long retard, which is found first, and a brief addition under load, which ranks first."""
    posted = np.where(LONG, -5.0, 0.0) + np.where(BRIEF, 2.5, 0.0)
    run = with_lever(RUN, LONG).carry("Push", BRIEF.astype(float)).post("x", posted)
    return told(run, sheet("rev-d.toml", "D"))


def test_the_first_rule_of_the_list_is_rule_1_in_ledger_and_episodes_too() -> None:
    statement = two_rules()
    rules = [cause for cause in statement.causes if cause.kind == "hidden rule"]
    assert [cause.entry for cause in rules] == ["rule-1", "rule-2"]
    assert rules[0].raises_under_load
    ledger = statement.logs[0].ledger
    assert ledger is not None
    for cause in rules:
        (entry,) = [one for one in ledger.entries if one.correction == cause.entry]
        degrees, seconds = acting(ledger, entry.values)
        assert abs(degrees - cause.degrees) < 0.05
        assert abs(seconds - cause.seconds) < 0.2
        for number in cause.episodes:
            assert cause.entry in {one.correction for one in statement.episodes[number].entries}
    assert abs(np.nan_to_num(ledger.unaccounted)).max() <= 0.3


def test_what_asks_for_a_drive_names_the_cause_that_it_is_about() -> None:
    same = RUN.post("x", np.where(LONG, -5.0, 0.0) + np.where(BRIEF, -2.0, 0.0))
    run = with_lever(same, LONG).carry("Push", BRIEF.astype(float))
    run = run.carry("Lamp", BRIEF.astype(float)).carry("Fan", LONG.astype(float))
    statement = told(run, sheet("rev-d.toml", "D"))
    known = {cause.entry for cause in statement.causes}
    assert statement.experiments
    assert {one.cause for one in statement.experiments} <= known
