"""A suspicion of the sheet and a rule of the log for the same stretches: weighed, both shown."""

from typing import Any

import numpy as np
import pytest

from tests.explain.parts import LEVER, pulling, with_lever
from tests.explain.told import first, kinds, told
from tests.runs import Run, climb, sheet
from tuneledger.explain.model import SURE
from tuneledger.statement.model import SuppliedSheet

RUN = climb()
OFTEN = (RUN.times > 5.0) & (RUN.times % 12.0 < 2.0)
UNLOGGED = {"channel": "Oil gallery", "below": 200.0}


def guard(*when: Any, **numbers: Any) -> SuppliedSheet:
    """A sheet with a guard that reads oil pressure, which no log here carries."""
    correction = {"id": "oil-guard", "when": [UNLOGGED, *when], **numbers}
    return sheet("rev-d.toml", "D", [correction])


def sloped() -> dict[str, Any]:
    axes = [{"channel": "Oil gallery", "unit": "kPa", "at": (100.0, 300.0)}]
    return {"axes": axes, "values": (-8.0, 0.0)}


def pulled_often(run: Run) -> Run:
    return run.post("x", np.where(OFTEN, -4.0, 0.0))


def test_a_switch_that_turns_with_every_stretch_outweighs_what_may_have_acted() -> None:
    statement = told(with_lever(pulled_often(RUN), OFTEN), guard(**sloped()))
    assert statement.verdict == "explained"
    assert kinds(statement) == ["hidden rule"]
    assert any("oil-guard" in p.says for p in first(statement).evidence if p.speaks == "against")


def test_what_may_have_acted_as_well_is_still_asked_for() -> None:
    statement = told(with_lever(pulled_often(RUN), OFTEN), guard(**sloped()))
    assert [need.what for need in statement.needs] == ["Oil gallery"]


def test_a_rule_is_less_sure_beside_a_suspicion_than_without() -> None:
    run = with_lever(pulled_often(RUN), OFTEN)
    alone = first(told(run, sheet("rev-d.toml", "D"))).certainty
    beside = first(told(run, guard(amount=-4.0))).certainty
    assert SURE <= beside < alone


def test_the_one_number_that_a_sheet_can_post_outweighs_one_stretch_of_a_switch() -> None:
    statement = told(with_lever(RUN).post("x", pulling(RUN, -4.0)), guard(amount=-4.0))
    assert statement.verdict == "cannot tell"
    cause = first(statement)
    assert (cause.correction, cause.certainty < SURE) == ("oil-guard", True)


def test_the_rule_that_would_do_as_well_is_shown_beside_the_suspicion() -> None:
    cause = first(told(with_lever(RUN).post("x", pulling(RUN, -4.0)), guard(amount=-4.0)))
    assert {"channel": LEVER, "is": 1} in [dict(c) for r in cause.alternatives for c in r.when]


def test_a_rule_that_only_reads_what_the_suspect_reads_is_the_suspect() -> None:
    on = {"channel": LEVER, "is": "on"}
    statement = told(with_lever(pulled_often(RUN), OFTEN), guard(on, **sloped()))
    assert first(statement).correction == "oil-guard"
    assert statement.verdict == "cannot tell"


@pytest.mark.parametrize("slope", [-0.08, -0.15])
def test_a_curve_along_what_moves_with_the_missing_channel_takes_nobodys_place(
    slope: float,
) -> None:
    """Oil warms up as water does: along either, the same degrees can be drawn."""
    water = np.round(60.0 + 0.5 * RUN.times, 1)
    run = RUN.carry("Water", water).post("x", np.round(slope * (water - 60.0), 1))
    axes = [{"channel": "Oil temp", "unit": "degC", "at": (50.0, 130.0)}]
    trim = {"id": "oil-trim", "axes": axes, "values": (0.0, -12.0)}
    statement = told(run, sheet("rev-d.toml", "D", [trim]))
    assert first(statement).correction == "oil-trim"
    assert statement.verdict == "cannot tell"


KNOCK = {"id": "knock", "reason": "knock", "logged_as": "Knock pull"}


@pytest.mark.parametrize("more", [{}, {"range": (-6.0, 0.0)}])
def test_knock_control_that_no_channel_carries_is_likelier_than_a_rule_that_is_not_sure(
    more: dict[str, Any],
) -> None:
    run = RUN.post("x", pulling(RUN, -3.0))
    assert first(told(run, sheet("d.toml", "D"))).kind == "hidden rule"
    statement = told(run, sheet("d.toml", "D", [KNOCK | more]))
    cause = first(statement)
    assert cause.correction == "knock"
    assert cause.certainty < SURE
    assert statement.verdict == "cannot tell"
    assert [need.what for need in statement.needs] == ["Knock pull"]


def test_a_switch_that_turns_with_every_stretch_outweighs_knock_control_too() -> None:
    statement = told(with_lever(pulled_often(RUN), OFTEN), sheet("d.toml", "D", [KNOCK]))
    assert kinds(statement) == ["hidden rule"]


def over_load(run: Run) -> Run:
    """A fixed amount wherever manifold pressure is high, as the same fault in every pull."""
    return run.post("x", np.where(run.signals["manifold absolute pressure"] > 140.0, -3.0, 0.0))


def test_knock_control_of_which_nothing_shows_rivals_a_rule_over_load() -> None:
    """It acts where the engine knocks, and three pulls alike prove no rule against it."""
    run = over_load(climb())
    assert first(told(run, sheet("d.toml", "D"))).certainty >= SURE
    statement = told(run, sheet("d.toml", "D", [KNOCK]))
    assert (first(statement).correction, statement.verdict) == ("knock", "cannot tell")
    assert [need.what for need in statement.needs] == ["Knock pull"]
    (rule,) = [dict(c) for one in first(statement).alternatives[:1] for c in one.when]
    assert "above" in rule


def test_knock_control_that_cannot_take_as_much_makes_no_rule_less_sure() -> None:
    run = over_load(climb())
    mild = sheet("d.toml", "D", [KNOCK | {"range": (-1.5, 0.0)}])
    alone = first(told(run, sheet("d.toml", "D"))).certainty
    assert first(told(run, mild)).certainty == pytest.approx(alone)


def test_knock_control_takes_nothing_off_the_load() -> None:
    """A retard at low pressure is none of its doing, whatever the sheet lists."""
    run = climb()
    low = run.signals["manifold absolute pressure"] < 60.0
    posted = run.post("x", np.where(low, -3.0, 0.0))
    alone = first(told(posted, sheet("d.toml", "D"))).certainty
    assert first(told(posted, sheet("d.toml", "D", [KNOCK]))).certainty == pytest.approx(alone)


def test_short_parts_about_a_threshold_are_one_suspicion_together() -> None:
    """An engine that hunts about the speed from which a guard may act shows it in many flickers."""
    revs = np.where((RUN.times > 20.0) & (RUN.times < 24.0), np.arange(RUN.times.size) % 5, 0)
    run = RUN.carry("Launch revs", 4000.0 + 200.0 * revs)
    run = run.post("x", np.where(revs > 2, -4.0, 0.0))
    launch = {"channel": "Launch revs", "above": 4500.0}
    statement = told(run, guard(launch, amount=-4.0))
    assert [cause.correction for cause in statement.causes] == ["oil-guard"]
    assert statement.verdict == "cannot tell"
