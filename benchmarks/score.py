"""Scores a statement and its ledger against a case with known truth; every miss says why.

    python -m benchmarks.score CASE_FOLDER STATEMENT.json [LEDGER.csv] [--exit STATUS]

The statement is the contract's JSON, the ledger its table, so that any program which writes them
can be scored.
"""

import argparse
import json
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from benchmarks.claims import Claim, claims, describe, first_cause
from benchmarks.marks import Point, Report, Result
from benchmarks.predicts import choices, figures, is_right, off, predicts, rules_told
from benchmarks.rules import RuleError
from benchmarks.samples import entries, episodes, unaccounted
from benchmarks.truth import Case, read_table

SURE = 0.8  # from here on a cause is a claim, by the contract
CHANGE_S = 1.0  # by so much a change of revision may be placed wrongly


@dataclass(frozen=True, slots=True)
class Score:
    """All points of one case, and every claim with its certainty and whether it is right; of a
    hidden rule that means that it predicts another drive."""

    case: str
    kind: str
    variant: str
    points: tuple[Point, ...]
    claims: tuple[Claim, ...]

    def point(self, name: str) -> Point:
        return next(point for point in self.points if point.name == name)

    @property
    def misses(self) -> tuple[Point, ...]:
        return tuple(point for point in self.points if point.ok is False)


def score(case: Case, result: Result) -> Score:
    """Puts every question to a result. Never raises on a result that is merely wrong."""
    points = tuple(_answer(name, question, case, result) for name, question in QUESTIONS.items())
    return Score(
        case.name,
        case.kind,
        str(case.truth.get("variant", "")),
        points,
        _claims(case, result),
    )


def _claims(case: Case, result: Result) -> tuple[Claim, ...]:
    try:
        told = tuple(claims(case.truth, result.statement))
        if not case.has_heldout:
            return told
        holds = predicts([one["rule"] for one in rules_told(case, result.statement)], case)
        return tuple(replace(c, holds=holds) if c.kind == "hidden rule" else c for c in told)
    except (KeyError, TypeError):
        return ()  # the points say that the shape is wrong


def failed(case: Case, reason: str) -> Score:
    """The score of a tool that gave no statement at all."""
    points = tuple(Point(name, False, reason) for name in ("verdict", "first cause"))
    rest = tuple(Point(name, None) for name in QUESTIONS if name not in ("verdict", "first cause"))
    return Score(case.name, case.kind, str(case.truth.get("variant", "")), points + rest, ())


def _answer(
    name: str, question: Callable[[Case, Result], Point], case: Case, result: Result
) -> Point:
    try:
        return question(case, result)
    except (KeyError, TypeError, IndexError) as fault:
        return Point(name, False, f"the statement is not of the contract's shape: {fault!r}")


def verdict(case: Case, result: Result) -> Point:
    accepted = case.truth["verdicts_accepted"]
    given = result.statement["verdict"]
    ok = given in accepted
    return Point("verdict", ok, "" if ok else f"said '{given}', right is {_either(accepted)}")


def first(case: Case, result: Result) -> Point:
    ok, reason = first_cause(case.truth, result.statement)
    return Point("first cause", ok, reason)


def running(case: Case, result: Result) -> Point:
    truth, given = case.truth["running"], result.statement.get("running")
    if truth is None:
        ok = given is None
        return Point("running", ok, "" if ok else "names a running revision without any sheet")
    accepted = truth["best_accepted"]
    if accepted is None:
        return Point("running", None)
    if given is None:
        return Point("running", False, f"gives none, right is {_either(accepted)}")
    ok = given["best"] in accepted
    return Point("running", ok, "" if ok else f"said {given['best']}, right is {_either(accepted)}")


def spans(case: Case, result: Result) -> Point:
    """Which revision ran when. Where none changed, each log has one span at most; a change is right
    within a second of the truth, or of the moments between which the log can place it."""
    truth, given = case.truth["running"], result.statement.get("running")
    if truth is None or given is None or truth["best_accepted"] is None:
        return Point("spans", None)
    told = sorted(given.get("spans") or [], key=lambda span: (span["log"], span["start_s"]))
    true = truth.get("spans")
    if not true:
        changes = len(told) - len({span["log"] for span in told})
        return Point("spans", changes == 0, f"invents {changes} changes" if changes else "")
    names = [[span["revision"] for span in some] for some in (told, true)]
    if names[0] != names[1]:
        return Point("spans", False, f"said {names[0]}, right is {names[1]}")
    off = max((_off(a, b) for a, b in zip(told[1:], true[1:], strict=True)), default=0.0)
    ok = off <= CHANGE_S
    return Point("spans", ok, "" if ok else f"a change is {off:.1f} s off", off)


def _off(told: Report, true: Report) -> float:
    """Seconds by which a change lies outside the moments between which the log can place it."""
    low, high = true.get("began_s") or (true["start_s"], true["start_s"])
    at = float(told["start_s"])
    return max(float(low) - at, at - float(high), 0.0)


def roles(case: Case, result: Result) -> Point:
    """The channels that the case turns on; a signal that is not logged must get no channel."""
    wrong = []
    for signal in case.truth["roles_needed"]:
        true = case.truth["roles"].get(signal)
        given = result.statement["roles"].get(signal)
        if true is None:
            if given is not None and given["certainty"] >= SURE:
                wrong.append(f"{signal} is not logged but read from {given['channel']!r}")
        elif given is None:
            wrong.append(f"{signal} ({true['channel']!r}) not found")
        elif given["channel"].casefold() != true["channel"].casefold():
            wrong.append(f"{signal} read from {given['channel']!r}, right is {true['channel']!r}")
    return Point("roles", not wrong, "; ".join(wrong))


def false_causes(case: Case, result: Result) -> Point:
    """Causes given with certainty 0.8 or more that are not so; where the log lacks what a hidden
    rule reads, a rule that does not predict another drive is not so either."""
    unseen = bool(case.truth.get("unseen"))
    wrong = [
        c
        for c in _claims(case, result)
        if not (c.right and (c.holds or not unseen)) and c.certainty >= SURE
    ]
    reason = "; ".join(
        f"{c.says} at {c.certainty:.2f}: {c.why or 'it does not predict another drive'}"
        for c in wrong
    )
    return Point("false causes", not wrong, reason, float(len(wrong)))


def needs(case: Case, result: Result) -> Point:
    """Each thing that the truth says must be asked for is asked for, under one of its names."""
    if not case.truth["needs"]:
        return Point("needs", None)
    asked = [str(need["what"]).casefold() for need in result.statement["needs"]]
    missing = [
        need["what"]
        for need in case.truth["needs"]
        if not any(str(name).casefold() in what for name in need["names"] for what in asked)
    ]
    return Point("needs", not missing, f"does not ask for {_either(missing)}" if missing else "")


def status(case: Case, result: Result) -> Point:
    """The exit status belongs to the verdict that was given (whether right or not)."""
    if result.status is None:
        return Point("exit", None)
    said = result.statement["verdict"]
    if said in ("agrees", "expected"):
        allowed = list(case.truth["exits_if_expected"])
    else:
        allowed = [3] if said == "cannot tell" else [1]
    ok = result.status in allowed
    reason = "" if ok else f"exit {result.status} with '{said}', right is {_either(allowed)}"
    return Point("exit", ok, reason)


def rule(case: Case, result: Result) -> Point:
    """The reported rule predicts the other drive: within 0.5° rms, or 95 % within 0.3°."""
    asked = case.has_heldout and not case.truth.get("unseen")
    if not asked or not case.truth.get("identifiable", True):
        return Point("rule", None)
    given = rules_told(case, result.statement)
    if not given:
        return Point("rule", False, "no rule given")
    try:
        missed = off([one["rule"] for one in given], case)
    except RuleError as fault:
        return Point("rule", False, str(fault))
    rms, share = figures(missed)
    ok = is_right(rms, share)
    told = describe(given[0]["rule"])
    reason = f"{rms:.2f}° rms on another drive, {share:.0%} within 0.3°: {told}"
    return Point("rule", ok, "" if ok else reason, rms)


def listed(case: Case, result: Result) -> Point:
    """Where the log allows several rules: one that predicts the other drive is among those
    given, as the rule itself or as one of its alternatives."""
    if not case.has_heldout or case.truth.get("identifiable", True):
        return Point("listed", None)
    given = rules_told(case, result.statement)
    if not given:
        return Point("listed", False, "no rule given")
    ok = any(predicts(rules, case) for rules in choices(given))
    count = sum(len(one.get("alternatives") or ()) for one in given)
    reason = f"neither the rule nor any of {count} alternatives predicts another drive"
    return Point("listed", ok, "" if ok else reason)


def _either(options: Any) -> str:
    return " or ".join("none" if option is None else f"'{option}'" for option in options)


QUESTIONS: dict[str, Callable[[Case, Result], Point]] = {
    "verdict": verdict,
    "first cause": first,
    "running": running,
    "spans": spans,
    "roles": roles,
    "episodes": episodes,
    "entries": entries,
    "unaccounted": unaccounted,
    "false causes": false_causes,
    "needs": needs,
    "exit": status,
    "rule": rule,
    "listed": listed,
}


def main() -> None:
    """Score one statement from the command line."""
    parser = argparse.ArgumentParser(description="Score a statement against a case.")
    parser.add_argument("case", type=Path)
    parser.add_argument("statement", type=Path)
    parser.add_argument("ledger", type=Path, nargs="?")
    parser.add_argument("--exit", type=int, dest="status")
    given = parser.parse_args()
    statement = json.loads(given.statement.read_text(encoding="utf-8"))
    ledger = read_table(given.ledger) if given.ledger else None
    for point in score(Case(given.case), Result(statement, ledger, given.status)).points:
        mark = {True: "right", False: "miss", None: "not asked"}[point.ok]
        print(f"{point.name:13} {mark:9} {point.reason}".rstrip())


if __name__ == "__main__":
    main()
