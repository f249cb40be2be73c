"""The headline passes over no cause that matters."""

import numpy as np

from tests.explain.parts import (
    AIR,
    AT,
    DEG,
    during,
    oil_guard,
    pulling,
    switched,
    with_lever,
    with_low_oil,
)
from tests.explain.told import told
from tests.runs import along, charge_air, climb, governor, sheet
from tuneledger.statement import facts
from tuneledger.wording import degree_span, seconds

RUN = climb()
HOT = along(RUN, AIR, AT, DEG)


def test_another_revision_is_told_by_what_it_has_otherwise_and_then_what_takes_most() -> None:
    run = with_lever(RUN.post("x", HOT + pulling(RUN, -1.5)))
    d = sheet("rev-d.toml", "D", [charge_air(DEG)])
    c = sheet("rev-c.toml", "C", [charge_air(DEG), switched("cut", -1.5)])
    statement = told(run, d, c)
    first, second = statement.causes
    assert (first.kind, second.kind) == ("correction", "other revision")
    assert statement.headline.startswith("Behaves like revision C, not D: Cut took 1.5°")
    _, also = statement.headline.split("Read the ECU back before loading anything. ")
    assert also.startswith("Also: Hot charge air took")


def test_a_rev_limit_is_not_to_be_moved_before_it_is_known_why_it_stands_there() -> None:
    run = with_lever(RUN.post("x", pulling(RUN, -9.0)))
    statement = told(run, sheet("rev-d.toml", "D", [switched("top", -9.0, reason="rev limit")]))
    assert "ask why it stands where it does before moving it" in statement.headline


def test_a_correction_s_name_keeps_its_letters_within_a_sentence() -> None:
    run = with_lever(RUN.post("x", pulling(RUN, -4.0)))
    pit = switched("pit", -4.0, title="Boxengasse")
    other = sheet("rev-c.toml", "C", [pit])
    assert "not D: Boxengasse took 4.0°" in told(run, sheet("d.toml", "D"), other).headline


def test_the_second_cause_is_told_after_the_first_and_its_next_step() -> None:
    run = with_low_oil(with_lever(RUN.post("x", HOT + 2 * pulling(RUN, -4.0))))
    one = [charge_air(DEG), oil_guard(-4.0), switched("cut", -4.0)]
    statement = told(run, sheet("rev-d.toml", "D", one))
    first, second, _ = statement.causes
    head = f"{first.says} {first.next_step} Also: "
    assert statement.headline.startswith(head)
    assert second.says[1:].rstrip(".") in statement.headline
    assert statement.headline.endswith(", and 1 more cause.")


def test_what_is_not_sure_says_so_wherever_in_the_headline_it_stands() -> None:
    late = (RUN.signals["manifold absolute pressure"] > 120) & (RUN.times > 50)
    run = RUN.post("x", HOT + np.where(late, -3.0, 0.0))
    statement = told(run, sheet("rev-d.toml", "D", [charge_air(DEG)]))
    doubtful = next(cause for cause in statement.causes if cause.certainty < 0.8)
    assert f"not sure yet ({doubtful.certainty:.0%}), ".replace("%", " %") in statement.headline


def test_a_moment_that_is_left_does_not_lead_where_the_rest_is_sure() -> None:
    hottest = int(np.argmin(HOT))
    moment = np.isin(np.arange(HOT.size), np.arange(hottest, hottest + 6))
    run = RUN.post("x", HOT + np.where(moment, -HOT * 0.5, 0.0))
    statement = told(run, sheet("rev-d.toml", "D", [charge_air(DEG)]))
    assert statement.verdict == "unexplained"
    assert statement.headline.startswith("Mostly explained: Hot charge air took")
    left = next(cause for cause in statement.causes if cause.certainty < 0.8)
    assert statement.headline.endswith(left.says[1:])
    assert statement.headline.index("took") < statement.headline.index("Open: ")


def test_the_words_of_the_verdict_count_what_is_not_sure_beside_what_is() -> None:
    late = (RUN.signals["manifold absolute pressure"] > 120) & (RUN.times > 50)
    statement = told(
        RUN.post("x", HOT + np.where(late, -3.0, 0.0)), sheet("rev-d.toml", "D", [charge_air(DEG)])
    )
    doubtful = sum(cause.certainty < 0.8 for cause in statement.causes)
    said = facts.verdict(statement)
    assert doubtful > 0
    assert (f"{doubtful} other cause" in said) == (statement.verdict == "explained")


def test_the_headline_gives_the_one_expected_cause_the_seconds_and_degrees_of_its_own() -> None:
    statement = told(climb().post("idle-governor", governor(climb())))
    (cause,) = statement.causes
    assert statement.verdict == "expected"
    assert f": {seconds(cause.seconds)}, " in statement.headline
    values = statement.logs[0].ledger.entries[0].values  # type: ignore[union-attr]
    span = degree_span(min(values.min(), 0.0), max(values.max(), 0.0))
    assert f", {span});" in statement.headline


def test_what_a_sheet_lists_is_understood_and_only_to_be_meant() -> None:
    raised = with_lever(RUN).post("a", pulling(RUN, 3.0))
    listed = told(raised, sheet("rev-d.toml", "D", [switched("a", 3.0)]))
    assert listed.headline.endswith("No load until it is clear that this is meant.")
    assert "is clear that this is meant" in listed.causes[0].next_step
    unlisted = told(raised, sheet("rev-d.toml", "D"))
    assert unlisted.headline.endswith("No load until it is understood.")
    assert "until this is understood" in unlisted.causes[0].next_step


def test_a_car_that_runs_a_sheet_and_one_thing_more_is_said_to_be_near_it() -> None:
    on = during(RUN, 26.0, 33.0)
    air = along(RUN, AIR, AT, DEG)
    run = with_lever(RUN, on).post("charge-air", air).post("x", np.where(on, -3.0, 0.0))
    statement = told(run, sheet("rev-d.toml", "D", [charge_air(DEG)]))
    assert "nearest is revision D but for rule-1" in facts.running(statement)
    neither = told(run, sheet("rev-d.toml", "D"))
    assert "nearest" not in facts.running(neither)
