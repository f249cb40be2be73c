"""Advances and retards of which the account does not speak: no agreement hides them."""

import numpy as np
import pytest

from tests.explain.parts import during, switched, with_lever
from tests.explain.told import told
from tests.runs import climb, sheet
from tuneledger.arrays import FloatArray
from tuneledger.statement.facts import running

RUN = climb()
PULLED = np.where(during(RUN, 24.0, 34.0), -6.0, 0.0)


@pytest.mark.parametrize("off", [PULLED, -0.5 * PULLED, np.full(PULLED.shape, -2.5)])
def test_a_cylinder_that_stands_elsewhere_is_a_cause_whatever_else_is_explained(
    off: FloatArray,
) -> None:
    lever = during(RUN, 40.0, 52.0)
    taken = np.where(lever, -4.0, 0.0)
    supplied = sheet("rev-d.toml", "D", [switched("wet", -4.0)])
    run = with_lever(RUN.post("x", taken), lever)
    assert told(run, supplied).verdict == "explained"
    statement = told(run.carry("Ignition cylinder 3", RUN.scheduled + taken + off), supplied)
    assert statement.verdict == "unexplained"
    assert {cause.correction for cause in statement.causes} == {"wet", None}
    (cause,) = [one for one in statement.causes if one.channel == "Ignition cylinder 3"]
    assert (cause.kind, cause.certainty) == ("unknown", 0.0)
    assert cause.degrees == pytest.approx(off[off != 0.0].mean(), abs=0.2)
    assert "Ignition cylinder 3" in statement.headline
    (note,) = [n for n in statement.notes if n.startswith("Ignition cylinder 3")]
    assert "was not compared" in note
    assert statement.running is not None
    assert (statement.running.best, statement.running.matches_supplied) == ("D", False)
    assert "but that does not account for all" in running(statement)


@pytest.mark.parametrize("name", ["Ignition cylinder 3", "Zündwinkel Zyl 3", "Spark cyl 4"])
def test_an_agreement_with_a_cylinder_elsewhere_is_no_agreement(name: str) -> None:
    statement = told(RUN.carry(name, RUN.scheduled + PULLED))
    assert statement.verdict == "unexplained"
    (cause,) = statement.causes
    assert (cause.kind, cause.channel) == ("unknown", name)
    assert f"{name} stands 6.0° below Adv given for 9.8 s" in statement.headline


def test_a_cylinder_that_is_off_from_the_first_sample_to_the_last_is_named() -> None:
    statement = told(RUN.carry("Ignition cylinder 3", RUN.scheduled - 2.0))
    assert "Ignition cylinder 3 stands 2.0° below Adv given" in statement.headline


def test_a_cylinder_above_the_map_under_load_stops_the_driver() -> None:
    statement = told(RUN.carry("Ignition cylinder 3", RUN.scheduled - PULLED))
    assert statement.headline.startswith("Stop: Ignition cylinder 3 stands 6.0° above")
    assert statement.raised_under_load


@pytest.mark.parametrize("sign", [1.0, -1.0])
def test_a_cylinder_whose_own_retard_is_logged_is_explained_by_it(sign: float) -> None:
    pulled = np.round(PULLED * (1.0 + 0.2 * np.sin(RUN.times)), 1)
    run = RUN.carry("Ignition cylinder 3", RUN.scheduled + pulled).carry("Knk 3", sign * pulled)
    statement = told(run)
    assert statement.verdict == "explained"
    (cause,) = statement.causes
    assert (cause.kind, cause.channel) == ("hidden rule", "Knk 3")
    assert cause.rule is not None
    assert cause.rule.along is not None
    at, deg = cause.rule.along.at, cause.rule.along.deg
    assert np.interp(-5.0 * sign, at, deg) == pytest.approx(-5.0)
    assert "as Knk 3 has it" in statement.headline


def test_a_channel_that_is_only_near_what_a_cylinder_stands_off_explains_nothing() -> None:
    near = np.round(-2.0 + 0.1 * np.sin(RUN.times), 2)
    run = RUN.carry("Ignition cylinder 3", RUN.scheduled - 2.0).carry("Trim", near)
    assert told(run).verdict == "unexplained"
    busy = RUN.carry("Ignition cylinder 3", RUN.scheduled + PULLED)
    other = np.where(during(RUN, 24.0, 38.0), -6.0, 0.0)  # acts on where the cylinder is back
    assert told(busy.carry("Trim", other)).verdict == "unexplained"


@pytest.mark.parametrize("name", ["Best ignition", "Cam advance cylinder", "Ignition limit"])
def test_an_angle_of_another_kind_is_no_cylinder(name: str) -> None:
    statement = told(RUN.carry(name, RUN.scheduled + PULLED))
    assert statement.verdict == "agrees"


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
