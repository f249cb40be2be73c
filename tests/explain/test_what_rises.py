"""A headline that begins with "Stop" names what puts delivered there, and what no file lists."""

import numpy as np

from tests.explain.parts import during
from tests.explain.told import told
from tests.runs import climb, sheet
from tuneledger.explain.risen import in_no_file
from tuneledger.statement.model import Statement
from tuneledger.statement.text import as_text

RUN = climb()
# On for a moment of a pull, and for far longer on every other.
BLEND, BOX = during(RUN, 26.0, 28.0), during(RUN, 29.0, 34.0) | during(RUN, 40.0, 52.0)


def risen(box_deg: float) -> Statement:
    """A listed blend that adds 5° for a moment, and a box that no file lists."""
    blend = {"id": "blend", "title": "Blend", "amount": 5.0, "reason": "fuel"}
    blend["when"] = [{"channel": "Blend on", "is": "on"}]
    run = RUN.post("x", np.where(BLEND, 5.0, 0.0) + np.where(BOX, box_deg, 0.0))
    run = run.carry("Blend on", BLEND.astype(float)).carry("Box", BOX.astype(float))
    return told(run, sheet("rev-d.toml", "D", [blend]))


def test_the_headline_names_what_adds_most_in_the_rows_that_are_highest() -> None:
    statement = risen(2.0)
    assert statement.causes[0].entry == "rule-1"  # more degrees for longer, but not the highest
    assert statement.headline.startswith("Stop: delivered is up to 5.0° above")
    assert "; Blend added 5.0°" in statement.headline
    assert "No load until" in statement.headline


def test_a_sure_rule_that_no_file_lists_stands_in_the_headline_of_a_listed_danger() -> None:
    statement = risen(-4.0)
    (rule,) = [cause for cause in statement.causes if in_no_file(cause)]
    assert rule.rank > 1
    assert rule.certainty >= 0.8
    assert "In no file: a rule read out of the log took 4.0°" in statement.headline
    assert "Box is 1" in statement.headline


def test_a_rule_that_no_file_lists_is_told_with_its_conditions_however_short_the_paper() -> None:
    text = as_text(risen(-4.0), height=1)
    assert "Rule: −4.0° while Box is 1" in text


def test_what_hides_a_rule_is_named() -> None:
    blend = {"id": "blend", "title": "Blend", "amount": 4.0, "when": [{"channel": "B", "is": "on"}]}
    on = during(RUN, 30.0, 33.0)
    run = RUN.post("x", np.where(on, 4.0, 0.0) + np.where(BOX, -4.0, 0.0))
    run = run.carry("B", on.astype(float)).carry("Box", BOX.astype(float))
    (rule, *_) = [c for c in told(run, sheet("rev-d.toml", "D", [blend])).causes if in_no_file(c)]
    assert rule.says.endswith("of it Blend adds as much back.")


def test_what_takes_advance_elsewhere_is_said_to_add_it_there() -> None:
    """An advance that is fixed low: it takes from nearly all, and adds where less is asked for."""
    fixed = float(RUN.scheduled[during(RUN, 29.0, 60.0)].min()) + 2.0
    run = RUN.post("x", np.where(BOX, fixed - RUN.scheduled, 0.0)).carry("Box", BOX.astype(float))
    statement = told(run)
    assert statement.causes[0].degrees < 0
    assert statement.headline.startswith("Stop: delivered is up to 1.")
    assert "; there it adds 1." in statement.headline
