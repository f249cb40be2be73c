"""The statement as JSON: valid by its schema, complete, and never NaN."""

import json
import math
from dataclasses import replace
from importlib.resources import files
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from jsonschema import Draft202012Validator

from tests.statements import ALL, explained_by_charge_air, hidden_rule, two_logs
from tuneledger.explain.model import Rule
from tuneledger.ledger.model import Part
from tuneledger.roles.model import Roles
from tuneledger.statement.json import as_json, as_rule, json_text

SCHEMA = json.loads(files("tuneledger.statement").joinpath("statement.schema.json").read_text())
CHECK = Draft202012Validator(SCHEMA)
MADE = {name: make() for name, make in ALL.items()}

CONTRACT_KEYS = [
    "format", "logs", "roles", "tolerance_deg", "verdict", "headline", "running", "episodes",
    "causes", "notes", "needs",
]  # fmt: skip
EPISODE_KEYS = [
    "log", "start_s", "end_s", "about", "regime", "scheduled_deg", "delivered_deg",
    "difference_deg", "unaccounted_deg", "expected", "entries",
]  # fmt: skip
CAUSE_KEYS = [
    "rank", "kind", "correction", "revision", "channel", "degrees", "seconds", "certainty",
    "expected", "rule", "alternatives", "says", "next_step",
]  # fmt: skip


def test_the_schema_is_a_schema() -> None:
    Draft202012Validator.check_schema(SCHEMA)


@pytest.mark.parametrize("statement", MADE.values(), ids=MADE)
def test_every_statement_is_valid_and_survives_the_text_form(statement: Any) -> None:
    value = as_json(statement)
    CHECK.validate(value)
    assert json.loads(json_text(value)) == value


def test_keys_stand_in_the_contracts_order() -> None:
    value = as_json(hidden_rule())
    assert list(value) == CONTRACT_KEYS
    assert list(value["episodes"][0]) == EPISODE_KEYS
    assert list(value["causes"][0]) == CAUSE_KEYS
    assert list(value["episodes"][0]["entries"][0]) == [
        "correction", "deg", "evidence", "channel", "revision",
    ]  # fmt: skip
    assert list(as_json(explained_by_charge_air())["running"]) == [
        "supplied", "best", "matches_supplied", "certainty", "ranking", "spans",
    ]  # fmt: skip


def test_an_episode_that_went_through_several_regimes_tells_the_share_of_each() -> None:
    statement = explained_by_charge_air()
    first = statement.episodes[0]
    parts = tuple(
        Part(name, share, 22.0, 18.0, -4.0, 0.0) for name, share in (("load", 0.7), ("shift", 0.3))
    )
    mixed = replace(statement, episodes=(replace(first, parts=parts), *statement.episodes[1:]))
    value = as_json(mixed)
    CHECK.validate(value)
    assert value["episodes"][0]["regimes"] == {"load": 0.7, "shift": 0.3}
    assert "regimes" not in as_json(statement)["episodes"][0]


def test_a_cause_without_a_rule_or_cells_has_no_such_keys() -> None:
    cause = as_json(explained_by_charge_air())["causes"][0]
    assert "rule" not in cause
    assert "cells" not in cause
    assert cause["alternatives"] == []


def test_what_is_not_known_is_null() -> None:
    value = as_json(ALL["cannot_tell"]())
    assert value["episodes"][0]["unaccounted_deg"] is None
    assert value["running"]["ranking"][0]["misfit_deg"] is None
    assert "NaN" not in json_text(value)


def test_degrees_and_seconds_are_rounded_and_zero_has_no_sign() -> None:
    base = explained_by_charge_air()
    episode = replace(
        base.episodes[0], start_s=1.23456, difference_deg=-1.23456, unaccounted_deg=-1e-9
    )
    got = as_json(replace(base, episodes=(episode,)))["episodes"][0]
    assert got["start_s"] == 1.235
    assert got["difference_deg"] == -1.23
    assert math.copysign(1, got["unaccounted_deg"]) == 1


def test_a_fast_log_keeps_times_fine_enough_to_tell_samples_apart() -> None:
    base = explained_by_charge_air()
    books = base.logs[0]
    times = books.log.groups[0].times / 1000
    fast = replace(
        books, log=replace(books.log, groups=(replace(books.log.groups[0], times=times),))
    )
    episode = replace(base.episodes[0], start_s=0.00005, end_s=0.0001)
    got = as_json(replace(base, logs=(fast,), episodes=(episode,), running=None))["episodes"][0]
    assert got["start_s"] < got["end_s"]


def test_a_certainty_just_below_the_bound_is_not_rounded_up_to_it() -> None:
    base = explained_by_charge_air()
    almost = replace(base.causes[0], certainty=0.79999)
    assert as_json(replace(base, causes=(almost,)))["causes"][0]["certainty"] < 0.8


def test_a_rule_keeps_thresholds_fine_enough_to_be_carried_out_again() -> None:
    when = (
        {"channel": "Lambda", "above": np.float64(0.98765432)},
        {"channel": "Go", "is": np.int8(1)},
    )
    rule = as_rule(Rule(when, amount_deg=np.float64(-4.0)))
    assert rule["when"] == [{"channel": "Lambda", "above": 0.987654}, {"channel": "Go", "is": 1}]
    json_text(rule)


def test_a_second_log_with_other_channels_carries_roles_of_its_own() -> None:
    base = two_logs()
    assert all("roles" not in log for log in as_json(base)["logs"])
    second = base.logs[1]
    speed = second.roles.by_signal["engine speed"]
    other = replace(speed, channel=replace(speed.channel, name="Drehzahl"))
    roles = Roles({**second.roles.by_signal, "engine speed": other})
    value = as_json(replace(base, logs=(base.logs[0], replace(second, roles=roles))))
    CHECK.validate(value)
    assert value["roles"]["engine speed"]["channel"] == "Rev"
    assert value["logs"][1]["roles"]["engine speed"]["channel"] == "Drehzahl"


def test_the_text_cannot_steer_a_terminal_and_still_says_the_same() -> None:
    value = {"says": "a\x1b[31m\x9b31m\u202eb\u2028\udcff", "list": []}
    text = json_text(value)
    assert not any(c in text for c in "\x1b\x9b\u202e\u2028")
    assert json.loads(text.encode("utf-8", "backslashreplace")) == value


JSON = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats(allow_nan=False, allow_infinity=False)
    | st.text(),
    lambda inner: st.lists(inner) | st.dictionaries(st.text(), inner),
)  # fmt: skip


@given(JSON)
def test_laying_out_the_text_changes_no_value(value: Any) -> None:
    assert json.loads(json_text(value)) == value


@pytest.mark.parametrize("code", ["\u202e", "\u2066", "\u200b", "\u061c", "\xad"])
def test_what_nobody_sees_stays_escaped_and_reads_back(code: str) -> None:
    text = json_text({"name": f"Boost{code}kPa"})
    assert code not in text
    assert json.loads(text) == {"name": f"Boost{code}kPa"}
