"""Advances and retards of which the account does not speak: no agreement hides them."""

import numpy as np

from tests.explain.parts import during
from tests.explain.told import told
from tests.runs import climb

RUN = climb()
PULLED = np.where(during(RUN, 24.0, 34.0), -6.0, 0.0)


def test_another_cylinder_that_stands_elsewhere_is_said_in_the_headline_and_a_note() -> None:
    statement = told(RUN.carry("Ignition cylinder 3", RUN.scheduled + PULLED))
    assert statement.verdict == "agrees"
    assert "Not compared: Ignition cylinder 3, up to 6.0° off for 9.8 s" in statement.headline
    (note,) = [n for n in statement.notes if n.startswith("Ignition cylinder 3")]
    assert "was not compared" in note
    assert "−6.0°" in note


def test_another_cylinder_that_runs_with_it_is_no_matter() -> None:
    statement = told(RUN.carry("Ignition cylinder 3", RUN.scheduled))
    assert "Not compared" not in statement.headline


def test_a_knock_retard_that_delivered_does_not_show_is_never_silent() -> None:
    statement = told(RUN.carry("Knock retard cylinder 2", -PULLED))
    assert "Not compared: Knock retard cylinder 2" in statement.headline
    assert any("find out before any load" in note for note in statement.notes)


def test_a_retard_that_delivered_shows_is_its_cause_and_no_bystander() -> None:
    moving = np.round(PULLED * (1.0 + 0.2 * np.sin(RUN.times)), 1)
    statement = told(RUN.post("x", moving).carry("Knock retard", -moving))
    assert not any("does not show it" in note for note in statement.notes)
    assert statement.causes[0].channel == "Knock retard"
