"""What scores an answer must be right itself: it passes the truth and sees what spoils it."""

import json
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from benchmarks.claims import claims
from benchmarks.marks import Result
from benchmarks.score import score
from benchmarks.truth import Case, cases_in
from tests.benchmarks.made import WET, hidden_case, quiet_case, wet_case
from tests.benchmarks.perfect import perfect
from tests.shared import SHARED, needs_cases

Spoil = Callable[[dict[str, Any], dict[str, Any]], None]


@pytest.fixture(params=[wet_case, hidden_case, quiet_case])
def case(request: pytest.FixtureRequest, tmp_path: Path) -> Case:
    found: Case = request.param(tmp_path / "case")
    return found


def test_the_truth_itself_has_no_miss(case: Case) -> None:
    assert score(case, perfect(case)).misses == ()


@needs_cases
@pytest.mark.parametrize("shared", list(cases_in(SHARED / "cases")), ids=lambda case: case.name)
def test_the_truth_of_every_shared_case_has_no_miss(shared: Case) -> None:
    assert score(shared, perfect(shared)).misses == ()


def no_verdict(told: dict[str, Any], ledger: dict[str, Any]) -> None:
    told["verdict"] = "agrees"


def other_correction(told: dict[str, Any], ledger: dict[str, Any]) -> None:
    told["causes"][0] |= {"correction": "charge-air", "certainty": 0.7}


def turned_sign(told: dict[str, Any], ledger: dict[str, Any]) -> None:
    told["causes"][0] |= {"degrees": 4.0, "certainty": 0.7}


def other_revision(told: dict[str, Any], ledger: dict[str, Any]) -> None:
    told["running"] = {"best": "C"}


def other_channel(told: dict[str, Any], ledger: dict[str, Any]) -> None:
    told["roles"]["delivered advance"]["channel"] = "Asked"


def late_episode(told: dict[str, Any], ledger: dict[str, Any]) -> None:
    told["episodes"] = [{**told["episodes"][0], "start_s": 4.5, "end_s": 7.0}]


def small_entry(told: dict[str, Any], ledger: dict[str, Any]) -> None:
    ledger["entry:wet-road"] = ledger["entry:wet-road"] * 0.9


def empty_entry(told: dict[str, Any], ledger: dict[str, Any]) -> None:
    ledger["entry:wet-road"] = np.where(WET, np.nan, 0.0)


def rest(told: dict[str, Any], ledger: dict[str, Any]) -> None:
    ledger["unaccounted_deg"] = np.where(WET, 0.5, 0.0)


def unbalanced(told: dict[str, Any], ledger: dict[str, Any]) -> None:
    ledger["unaccounted_deg"] = np.full(WET.shape, np.nan)


def sure_and_wrong(told: dict[str, Any], ledger: dict[str, Any]) -> None:
    told["causes"].append({**told["causes"][0], "rank": 2, "correction": "fan"})


SPOILED = {
    no_verdict: {"verdict"},
    other_correction: {"first cause"},
    turned_sign: {"first cause"},
    other_revision: {"running"},
    other_channel: {"roles"},
    late_episode: {"episodes"},
    small_entry: {"entries"},
    empty_entry: {"entries"},
    rest: {"unaccounted"},
    unbalanced: {"unaccounted"},
    sure_and_wrong: {"false causes"},
}


@pytest.mark.parametrize("spoil", SPOILED, ids=lambda spoil: spoil.__name__)
def test_each_fault_is_seen_and_nothing_else(spoil: Spoil, tmp_path: Path) -> None:
    case = wet_case(tmp_path)
    right = perfect(case)
    told, ledger = dict(right.statement), dict(right.ledger or {})
    told["causes"] = [dict(cause) for cause in told["causes"]]
    spoil(told, ledger)
    missed = score(case, Result(told, ledger, 1)).misses
    assert {point.name for point in missed} - {"exit"} == SPOILED[spoil]
    assert all(point.reason for point in missed)


def test_an_unsure_wrong_cause_is_no_false_cause_but_counts_against_certainty(
    tmp_path: Path,
) -> None:
    case = wet_case(tmp_path)
    told = dict(perfect(case).statement)
    told["causes"] = [*told["causes"], {**told["causes"][0], "rank": 2, "correction": "fan"}]
    told["causes"][1]["certainty"] = 0.5
    scored = score(case, replace(perfect(case), statement=told))
    assert scored.point("false causes").ok
    assert [claim.right for claim in scored.claims] == [True, False]


def test_a_rule_is_judged_on_the_other_drive(tmp_path: Path) -> None:
    case = hidden_case(tmp_path)
    told = dict(perfect(case).statement)
    for rule, right in [
        ({"when": [{"channel": "wet", "above": 0.5}], "amount_deg": -4.0}, True),
        ({"when": [{"channel": "Wet", "is": 1}], "amount_deg": -2.5}, False),
        ({"when": [{"channel": "Clock", "between": [3.0, 5.95]}], "amount_deg": -4.0}, False),
        ({"when": [{"channel": "Fan", "is": "on"}], "amount_deg": -4.0}, False),
    ]:
        told["causes"] = [{**told["causes"][0], "rule": rule}]
        assert score(case, Result(told)).point("rule").ok is right, rule


def test_where_the_log_lacks_what_a_rule_reads_a_sure_rule_that_fails_later_is_a_false_cause(
    tmp_path: Path,
) -> None:
    case = hidden_case(tmp_path / "case")
    told = dict(perfect(case).statement)
    wrong = {"when": [{"channel": "Asked", "above": -90.0}], "amount_deg": -4.0}
    told["causes"] = [told["causes"][0] | {"rule": wrong, "certainty": 0.9}]
    assert score(case, Result(told)).point("false causes").ok
    truth = json.loads((case.folder / "truth.json").read_text(encoding="utf-8"))
    (case.folder / "truth.json").write_text(json.dumps(truth | {"unseen": True}), encoding="utf-8")
    unseen = Case(case.folder)
    assert score(unseen, Result(told)).point("false causes").ok is False
    assert score(unseen, Result(told)).point("rule").ok is None
    told["causes"][0] |= {"certainty": 0.6}
    assert score(unseen, Result(told)).point("false causes").ok


def test_a_hidden_rule_told_twice_is_one_too_many(tmp_path: Path) -> None:
    case = hidden_case(tmp_path)
    told = dict(perfect(case).statement)
    told["causes"] = [told["causes"][0], {**told["causes"][0], "rank": 2}]
    assert [claim.right for claim in claims(case.truth, told)] == [True, False]


def test_the_exit_status_must_belong_to_what_was_said(tmp_path: Path) -> None:
    case = wet_case(tmp_path)
    for said, status, right in [
        ("explained", 1, True),
        ("explained", 0, False),
        ("agrees", 0, True),
        ("agrees", 1, False),
        ("cannot tell", 3, True),
    ]:
        told = {**perfect(case).statement, "verdict": said}
        assert score(case, Result(told, None, status)).point("exit").ok is right


def test_a_statement_of_another_shape_is_a_miss_and_no_crash(tmp_path: Path) -> None:
    scored = score(wet_case(tmp_path), Result({"verdict": "explained", "causes": [{}]}))
    assert "not of the contract's shape" in scored.point("first cause").reason


def changing(case: Case, *starts: float) -> dict[str, Any]:
    """The perfect statement, with the running revision D, then C, then D, from these moments on."""
    told = dict(perfect(case).statement)
    ends = [*starts, 9.9]
    spans = [
        {"log": 0, "start_s": at, "end_s": end, "revision": "DC"[n % 2]}
        for n, (at, end) in enumerate(zip((0.0, *starts), ends, strict=True))
    ]
    told["running"] = {**told["running"], "spans": spans}
    return told


def test_a_change_that_did_not_happen_is_a_miss(tmp_path: Path) -> None:
    case = wet_case(tmp_path / "case")
    assert score(case, Result(changing(case))).point("spans").ok
    invented = score(case, Result(changing(case, 5.0))).point("spans")
    assert invented.ok is False
    assert "invents 1" in invented.reason


@pytest.mark.parametrize(("at_s", "right"), [(5.0, True), (6.9, True), (3.1, True), (7.2, False)])
def test_a_change_may_be_placed_within_a_second_of_where_the_log_can_place_it(
    at_s: float, right: bool, tmp_path: Path
) -> None:
    case = wet_case(tmp_path / "case")
    true = changing(case, 5.0)["running"]["spans"]
    true[1]["began_s"] = [4.0, 6.0]
    running = {**case.truth["running"], "spans": true}
    (case.folder / "truth.json").write_text(json.dumps({**case.truth, "running": running}))
    again = Case(case.folder)
    assert score(again, Result(changing(again, at_s))).point("spans").ok is right
    assert score(again, Result(changing(again))).point("spans").ok is False
