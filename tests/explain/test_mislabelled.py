"""Channels that are not what their labels say: causes where going by the label would mislead.

Celsius and Fahrenheit after NIST SP 811, B.9: °F = 1.8 · °C + 32; 1 psi is 6.894757 kPa, B.8.
"""

import numpy as np
import pytest

from tests.explain.labelled import written
from tests.explain.told import kinds
from tests.runs import Run, along, charge_air, climb, governor, sheet
from tuneledger.arrays import FloatArray
from tuneledger.change.prove import prove_statements
from tuneledger.explain.model import Cause
from tuneledger.roles import RolesFile
from tuneledger.statement.model import Statement, SuppliedSheet

AIR = "intake air temperature"
DEG = (0.0, -1.0, -4.0, -7.0)
D = sheet("rev-d.toml", "D", [charge_air(DEG)])


def hot() -> Run:
    run = climb()
    return run.post("charge-air", along(run, AIR, (20.0, 40.0, 60.0, 80.0), DEG))


def fahrenheit(celsius: FloatArray) -> FloatArray:
    return np.round(1.8 * celsius + 32.0, 1)


def of_label(statement: Statement) -> list[Cause]:
    return [cause for cause in statement.causes if cause.kind in ("sign", "unit")]


def test_fahrenheit_under_a_label_of_celsius_is_a_cause_where_the_sheet_reads_it() -> None:
    statement = written(hot(), D, change={"Inlet temp": fahrenheit})
    assert statement.verdict == "explained"
    (cause,) = of_label(statement)
    assert (cause.kind, cause.channel, cause.expected) == ("unit", "Inlet temp", False)
    assert cause.certainty >= 0.8
    # 36 to 61 °C are 97 to 142 °F; as °C that is beyond the curve's end, where it has −7.0°
    true = along(climb(), AIR, (20.0, 40.0, 60.0, 80.0), DEG)
    assert cause.degrees == pytest.approx(float((true + 7.0).mean()), abs=0.2)
    assert cause.seconds == pytest.approx(60.0, abs=1.0)
    assert "°F" in cause.says
    assert '"Inlet temp" = "degF"' in cause.next_step
    assert "charge-air" in [c.correction for c in statement.causes]


def test_fahrenheit_labelled_as_such_is_no_cause() -> None:
    statement = written(hot(), D, change={"Inlet temp": fahrenheit}, units={"Inlet temp": "degF"})
    assert kinds(statement) == ["correction"]


def test_what_a_roles_file_says_of_a_unit_is_its_label() -> None:
    told = RolesFile(units={"Inlet temp": "degF"})
    statement = written(hot(), D, change={"Inlet temp": fahrenheit}, told=told)
    assert kinds(statement) == ["correction"]


def test_a_wrong_label_that_no_sheet_reads_is_a_note_and_no_cause() -> None:
    bare = sheet("rev-e.toml", "E")
    statement = written(
        climb(), bare, change={"Boost abs": lambda v: v / 6.894757}, units={"Boost abs": "kPa"}
    )
    assert [c.channel for c in of_label(statement)] == ["Boost abs"]  # the map reads it
    alone = written(climb(), change={"Boost abs": lambda v: v / 6.894757})
    assert kinds(alone) == []
    assert alone.verdict == "agrees"
    assert any("Boost abs is read as manifold absolute pressure" in note for note in alone.notes)


def test_an_advance_written_as_a_negative_number_is_a_cause() -> None:
    statement = written(hot(), D, change={"Adv given": lambda v: -v})
    (cause,) = of_label(statement)
    assert (cause.kind, cause.channel) == ("sign", "Adv given")
    delivered = climb().scheduled + hot().entries[0].values
    assert cause.degrees == pytest.approx(float((-2.0 * delivered).mean()), abs=0.5)
    assert statement.verdict == "explained"
    assert not cause.raises_under_load


def test_the_headline_tells_of_the_car_before_the_label() -> None:
    statement = written(hot(), D, change={"Adv given": lambda v: -v})
    assert statement.causes[0].kind == "sign"  # by degrees times seconds, as the contract ranks
    assert statement.headline.index("Hot charge air") < statement.headline.index("sign turned")


def test_an_advance_that_is_labelled_as_counted_after_top_dead_centre_is_no_turned_sign() -> None:
    turned = {name: lambda values: -values for name in ("Adv asked", "Adv given")}
    statement = written(hot(), D, change=turned, units=dict.fromkeys(turned, "deg ATDC"))
    assert not of_label(statement)
    assert any(cause.correction == "charge-air" for cause in statement.causes)


def test_a_turned_sign_is_something_to_say_even_where_delivered_agrees() -> None:
    statement = written(climb(), change={"Adv given": lambda v: -v})
    assert kinds(statement) == ["sign"]
    assert (statement.verdict, statement.exit_status) == ("explained", 1)


def test_both_advances_turned_seem_to_differ_only_where_something_acts() -> None:
    turned = {"Adv given": lambda v: -v, "Adv asked": lambda v: -v}
    quiet = written(climb(), change=turned)
    assert (kinds(quiet), quiet.verdict) == ([], "agrees")
    acts = written(hot(), change=turned)
    causes = of_label(acts)
    assert {c.channel for c in causes} == {"Adv given", "Adv asked"}
    # what takes degrees would seem to add them
    assert all(c.degrees > 0 for c in causes)


@pytest.mark.parametrize("run", [climb(), hot(), climb().post("idle", governor(climb()))])
def test_right_labels_give_no_such_cause(run: Run) -> None:
    for sheets in ((), (D,)):
        assert of_label(written(run, *sheets)) == []


def test_a_label_put_right_is_gone_and_one_that_is_not_remains() -> None:
    wrong = written(hot(), D, change={"Adv given": lambda v: -v})
    made = prove_statements(wrong, written(hot(), D))
    assert {p.cause.kind: p.state for p in made.causes} == {"sign": "gone", "correction": "remains"}
    again = prove_statements(wrong, wrong)
    assert {p.cause.kind: p.state for p in again.causes}["sign"] == "remains"
    assert again.new == ()


def crossed(*sheets: SuppliedSheet) -> Statement:
    """Air in the channel named coolant, and a warm coolant in the one named inlet."""
    run = hot().carry("Coolant temp", climb().signals[AIR])
    warm = np.round(np.linspace(82.0, 88.0, run.times.size))
    units = {"Coolant temp": "degC"}
    return written(run, *sheets, change={"Inlet temp": lambda _: warm}, units=units)


def test_temperatures_under_each_others_name_are_read_as_the_sheet_comes_out() -> None:
    statement = crossed(D)
    assert kinds(statement) == ["correction"]
    role = statement.logs[0].roles.get(AIR)
    assert role is not None
    assert role.channel.name == "Coolant temp"
    assert any("read the other way round" in note for note in statement.notes)


def test_without_a_sheet_neither_is_used_and_it_is_said() -> None:
    statement = crossed()
    assert statement.logs[0].roles.get(AIR) is None
    assert any("named the wrong way round" in note for note in statement.notes)


def test_a_unit_that_only_a_sheet_shows_has_a_rival_and_names_it() -> None:
    mild = (10.0, 20.0, 30.0, 40.0)
    takes = charge_air(DEG)
    takes["axes"][0]["at"] = mild
    run = climb()
    celsius = 8.0 + 30.0 * (run.times / run.times[-1])
    run = run.post("charge-air", np.interp(celsius, mild, DEG))
    statement = written(
        run,
        sheet("rev-d.toml", "D", [takes]),
        change={"Inlet temp": lambda v: fahrenheit(celsius)},
        units={"Inlet temp": "degC"},
    )
    (cause,) = of_label(statement)
    against = [point.says for point in cause.evidence if point.speaks == "against"]
    assert any("if the label is right" in text and "charge air" in text.lower() for text in against)
