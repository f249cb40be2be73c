"""What a page is given: the ledger, the channels that prove a cause, and where the lines lie."""

import json
from dataclasses import replace

import numpy as np
import pytest

from tests.pages.climbs import busy, two_maps
from tests.runs import account, charge_air, climb, sheet
from tests.statements import AIR, ALL, explained_by_charge_air, hidden_rule, other_map, two_logs
from tuneledger.errors import UsageError
from tuneledger.explain.model import Cause, Rule
from tuneledger.logs.model import Channel
from tuneledger.pages import visits
from tuneledger.pages.channels import MOST, gap, wanted
from tuneledger.pages.data import page_data
from tuneledger.pages.notes import FORMAT, read_notes
from tuneledger.pages.pack import Packer
from tuneledger.pages.proof import Line, proofs
from tuneledger.pages.shape import PageData
from tuneledger.roles.model import Role
from tuneledger.statement.model import LogAccount, Statement


def data_of(statement: Statement) -> PageData:
    return page_data(statement, visits.grid(statement), Packer())


def cause_of(correction: str, **more: object) -> Cause:
    fields = {
        "rank": 1, "kind": "correction", "correction": correction, "revision": "D",
        "channel": None, "degrees": -2.0, "seconds": 1.0, "certainty": 0.9, "expected": False,
        "says": "", "next_step": "",
    }  # fmt: skip
    return Cause(**{**fields, **more})  # type: ignore[arg-type]


def lines_on(name: str, cause: Cause, books: LogAccount, **correction: object) -> tuple[Line, ...]:
    sheets = (sheet("rev-d.toml", "D", [{**charge_air((0.0, -1.0, -2.0, -3.0)), **correction}]),)
    found = {p.channel.name: p.lines for p in proofs(cause, books, sheets)}
    return found[name]


@pytest.mark.parametrize("name", sorted(ALL))
def test_every_statement_becomes_data(name: str) -> None:
    statement = ALL[name]()
    data = data_of(statement)
    assert len(data["logs"]) == len(statement.logs)
    assert len(data["causes"]) == len(statement.causes)
    assert len(data["episodes"]) == len(statement.episodes)


def test_an_entry_says_where_it_comes_from() -> None:
    account_data = data_of(busy())["logs"][0]["account"]
    assert account_data is not None
    basis = {entry["title"]: entry["basis"] for entry in account_data["entries"]}
    assert basis == {
        "Hot charge air": "computed, revision C",
        "Wet-road switch": "logged in Wet share",
        "Knock": "logged in Ping pull",
        "Idle governor": "inferred from the log",
        "Altitude": "computed, revision C",
    }


def test_the_channels_of_a_hidden_rule_come_with_its_thresholds() -> None:
    data = data_of(hidden_rule())
    names = [channel["name"] for channel in data["logs"][0]["channels"]]
    strips = {names[s["channel"]]: s["lines"] for s in data["causes"][0]["strips"]}
    assert strips["Plate"] == [{"at": 55.0, "side": "above", "says": "above {}"}]
    assert strips["Wet switch"] == [{"at": 0.5, "side": "above", "says": "on"}]
    assert "Fan" in strips, "what fits as well is shown beside it"


def test_a_threshold_of_the_sheet_is_drawn_in_the_unit_of_the_channel() -> None:
    books = account(climb(), "climb.csv")
    air = books.roles.by_signal["intake air temperature"]
    in_f = Role(air.signal, air.channel, "degF", scale=5 / 9, offset=-160 / 9)
    roles = replace(books.roles, by_signal={**books.roles.by_signal, air.signal: in_f})
    books = replace(books, roles=roles)
    when = [{"signal": "intake air temperature", "unit": "degC", "above": 60.0, "release": 50.0}]
    lines = lines_on("Air in", cause_of("charge-air"), books, when=when)
    # 60 °C = 140 °F, 50 °C = 122 °F (defining relation of the two scales, NIST SP 811, B.8)
    assert [round(line.at, 6) for line in lines[:2]] == [140.0, 122.0]
    assert lines[0].side == "above"


def test_a_side_turns_round_with_a_channel_whose_sign_is_turned() -> None:
    books = account(climb(), "climb.csv")
    plate = books.roles.by_signal["throttle position"]
    closed = Role(plate.signal, plate.channel, "%", scale=-1.0, offset=100.0)
    roles = replace(books.roles, by_signal={**books.roles.by_signal, plate.signal: closed})
    when = [{"signal": "throttle position", "unit": "%", "above": 70.0}]
    (line,) = lines_on("Plate", cause_of("charge-air"), replace(books, roles=roles), when=when)
    assert (round(line.at, 6), line.side) == (30.0, "below")


def test_a_rule_of_another_log_brings_up_only_channels_that_this_log_has() -> None:
    rule = Rule(({"channel": "No such channel", "above": 3}, {"channel": "Plate", "below": 2.0}))
    books = account(climb(), "climb.csv")
    cause = cause_of("x", kind="hidden rule", rule=rule)
    assert [p.channel.name for p in proofs(cause, books, ())] == ["Plate"]


def test_a_difference_of_two_readings_is_shown_without_a_line() -> None:
    books = account(climb(), "climb.csv")
    terms = {"channel": "Idle aim", "minus": "Rev", "above": 20}
    found = proofs(cause_of("x", rule=Rule((terms,), 1.0)), books, ())
    assert {p.channel.name: p.lines for p in found} == {"Idle aim": (), "Rev": ()}


def test_a_page_carries_a_stated_number_of_channels_at_most() -> None:
    books = explained_by_charge_air().logs[0]
    many = [Channel(f"Spare {i}", "", "", "f", 1) for i in range(200)]
    assert len(wanted(books, many)) == MOST


def test_a_slow_raster_is_not_a_gap_but_a_hole_in_it_is() -> None:
    slow = np.arange(0, 60, 0.5)
    assert 0.5 < gap(slow) < 5.0
    assert gap(np.sort(np.concatenate([slow, slow + 0.01]))) > 0.5


def test_switches_gears_and_held_channels_are_drawn_as_steps() -> None:
    data = data_of(busy())
    steps = {channel["name"]: channel["step"] for channel in data["logs"][0]["channels"]}
    assert steps["Wet switch"]
    assert not steps["Rev"]
    assert not steps["Boost abs"]


def test_cells_that_a_cause_names_are_found_on_the_map() -> None:
    data = data_of(other_map())
    # five pressures × five speeds; 150 and 200 kPa are rows 3 and 4, 5000 and 7000 rpm columns
    assert data["causes"][0]["cells"] == [18, 19, 23, 24]


def test_every_log_has_its_own_cells() -> None:
    assert all(log["account"] and log["account"]["cells"] for log in data_of(two_logs())["logs"])


def test_without_a_sheet_the_map_is_one_of_speed_and_load() -> None:
    found = visits.grid(hidden_rule())
    assert found is not None
    assert (found.rows.name, found.columns.name) == ("manifold absolute pressure", "engine speed")
    assert np.all(np.diff(found.columns.at) > 0)
    assert found.columns.at.size <= 12


def test_a_row_belongs_to_the_nearest_point_of_the_map() -> None:
    side = visits.Side("engine speed", "rpm", np.array([1000.0, 2000.0, 4000.0]))
    numbers = np.array([0.0, 1499.0, 1501.0, 2999.0, 3001.0, 9000.0, np.nan])
    np.testing.assert_array_equal(side.nearest(numbers), [0, 0, 1, 1, 2, 2, np.nan])


def test_a_void_row_is_a_visit_to_no_cell() -> None:
    base = explained_by_charge_air()
    books = base.logs[0]
    assert books.ledger is not None
    void = np.arange(books.ledger.times.size) < 40
    books = replace(books, ledger=replace(books.ledger, void=void))
    found = visits.grid(replace(base, logs=(books,)))
    assert found is not None
    assert found.cells[0] is not None
    assert np.isnan(found.cells[0][:40]).all()
    assert np.isfinite(found.cells[0][40:]).all()


def test_a_threshold_named_by_evidence_takes_its_side_from_the_condition() -> None:
    data = data_of(busy())
    names = [channel["name"] for channel in data["logs"][0]["channels"]]
    strips = {names[s["channel"]]: s["lines"] for s in data["causes"][1]["strips"]}
    assert [line["says"] for line in strips["Plate"]] == ["above {}", "until past {}"]


def test_the_points_at_which_a_table_turns_are_drawn_with_what_they_post() -> None:
    books = account(climb(), "climb.csv")
    correction = {"axes": [{"signal": AIR, "unit": "degC", "at": [20.0, 40.0, 50.0, 60.0, 80.0]}],
                  "values": [0.0, 0.0, -1.0, -2.0, -5.0]}  # fmt: skip
    lines = lines_on("Air in", cause_of("charge-air"), books, **correction)
    # 50 °C lies on the straight line between its neighbours, 20 °C is not where it begins
    assert [(line.at, line.says) for line in lines] == [
        (40.0, "{}: 0.0°"),
        (60.0, "{}: −2.0°"),
        (80.0, "{}: −5.0°"),
    ]


def test_a_pressure_comes_with_its_way_to_kilopascals_and_a_speed_with_none() -> None:
    scales = {c["name"]: c["scale"] for c in data_of(busy())["logs"][0]["channels"]}
    assert scales["Boost abs"] == {
        "kind": "pressure", "factor": 1.0, "offset": 0.0, "gauge": False,
    }  # fmt: skip
    assert scales["Rev"] is None


def test_another_revision_s_map_is_a_layer_of_differences() -> None:
    statement = two_maps()
    data = data_of(statement)
    assert data["map"] is not None
    own, other = (sheet.calibration.spark.map.grid for sheet in statement.sheets)
    shown = np.array(data["map"]["layers"][0]["values"], dtype=np.float64)
    np.testing.assert_allclose(shown, other - own, atol=1e-12)
    assert data["map"]["layers"][0]["title"] == "revision C less D"
    assert data["causes"][0]["layer"] == 0


def test_a_map_that_only_the_log_shows_is_a_layer_of_the_cells_that_it_tells() -> None:
    data = data_of(other_map())
    assert data["map"] is not None
    shown = np.array(data["map"]["layers"][0]["values"], dtype=np.float64).ravel()
    assert np.flatnonzero(np.isfinite(shown)).tolist() == [18, 19, 23, 24]
    assert set(shown[[18, 19, 23, 24]]) == {-2.0}


def test_a_note_finds_its_cause_again_and_changes_no_verdict() -> None:
    statement = busy()
    keys = [cause["key"] for cause in data_of(statement)["causes"]]
    assert len(set(keys)) == len(keys)
    assert keys[1] == "correction · wet-road · D · Wet share · Wet switch is 1 and Plate above 55 %"
    given = {
        "format": FORMAT,
        "notes": [{"cause": keys[1], "expected": True, "says": " it rained "}],
    }
    (note,) = read_notes(json.dumps(given), "climb.notes.json")
    assert note == {"cause": keys[1], "title": "", "expected": True, "says": "it rained"}


@pytest.mark.parametrize("text", ["", "[]", "{}", '{"format": "tuneledger-notes/1", "notes": 3}'])
def test_a_file_that_holds_no_notes_is_refused_in_words(text: str) -> None:
    with pytest.raises(UsageError, match=r"climb\.json"):
        read_notes(text, "climb.json")
