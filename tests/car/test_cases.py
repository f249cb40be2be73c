"""Made cases: their truth balances, they are readable as files, and the seed fixes them."""

import csv
import io
import json
import tomllib
from functools import cache

import numpy as np
import pytest

from tuneledger.car.cases import KINDS, Case, make_case, write_case
from tuneledger.car.sheets import calibration

SEED = 21
CAUSE_KINDS = {"correction", "other revision", "other map", "limit", "replacement", "hidden rule",
               "log timing", "sign", "unit", "unknown"}  # fmt: skip


@cache
def case(kind: str) -> Case:
    return make_case(kind, SEED)


def table(data: bytes) -> dict[str, np.ndarray]:
    rows = list(csv.reader(io.StringIO(data.decode())))
    numbers = np.array([[float(cell) for cell in row] for row in rows[1:]])
    return {name: numbers[:, i] for i, name in enumerate(rows[0])}


@pytest.mark.parametrize("kind", KINDS)
def test_every_kind_makes_a_case_that_is_whole(kind):
    made = case(kind)
    its_books_balance(made)
    its_log_reads_as_its_truth_says(made)
    its_sheets_are_valid_and_its_causes_in_the_contract_s_words(made)
    what_is_beyond_tolerance_lies_in_an_episode(made)
    if made.truth.get("unseen"):
        nothing_that_its_rule_needs_can_be_asked_for(made)
    elif "heldout.csv" in made.files:
        its_hidden_rule_shows_on_another_drive(made)


def its_books_balance(made: Case) -> None:
    books = table(made.files["truth.csv"])
    parts = [v for n, v in books.items() if n not in ("time_s", "delivered_deg")]
    # every cell is rounded to a thousandth
    assert np.allclose(sum(parts), books["delivered_deg"], atol=0.0006 * (len(parts) + 1))


def its_log_reads_as_its_truth_says(made: Case) -> None:
    stated, log = made.truth["log_format"], made.truth["log"]
    text = made.log.decode(stated["encoding"])
    rows = list(csv.reader(io.StringIO(text, newline=""), delimiter=stated["delimiter"]))
    body = rows[stated["preamble_lines"] + 1 + stated["unit_row"] :]
    assert len(body) == log["samples"] == table(made.files["truth.csv"])["time_s"].size
    assert log["channels"] == len(stated["columns"])
    assert all(len(row) - len(stated["columns"]) in (0, 1) for row in body)
    for role in made.truth["roles"].values():
        assert role["channel"] in stated["columns"]


def its_sheets_are_valid_and_its_causes_in_the_contract_s_words(made: Case) -> None:
    for _, text in made.sheets:
        calibration({k: v for k, v in tomllib.loads(text).items() if k != "format"})
    for rank, cause in enumerate(made.truth["causes"], 1):
        assert cause["rank"] == rank
        assert {cause["kind"], *cause["accept_kinds"]} <= CAUSE_KINDS
    assert json.loads(json.dumps(made.truth)) == made.truth


def what_is_beyond_tolerance_lies_in_an_episode(made: Case) -> None:
    if not made.truth["episodes_scored"] or made.truth["episodes_about"] == "map":
        return
    books = table(made.files["truth.csv"])
    beyond = np.abs(books["delivered_deg"] - books["scheduled_deg"]) > made.truth["tolerance_deg"]
    inside = np.zeros(beyond.size, dtype=bool)
    for e in made.truth["episodes"]:
        inside |= (books["time_s"] >= e["start_s"] - 1e-6) & (books["time_s"] <= e["end_s"] + 1e-6)
    assert (beyond & ~inside).mean() < 0.01
    assert inside.any() == any(c["seconds"] > 0 for c in made.truth["causes"])


def its_hidden_rule_shows_on_another_drive(made: Case) -> None:
    hidden = table(made.files["heldout_truth.csv"])["hidden_deg"]
    most = 1.01 if made.truth["variant"].startswith("throughout") else 0.95
    assert 0.03 < np.mean(np.abs(hidden) > 0.3) < most
    rms, share = made.truth["heldout_true_rule"]
    assert rms <= 0.5 or share >= 0.95
    (cause, *_) = [c for c in made.truth["causes"] if c["kind"] == "hidden rule"]
    assert set(made.truth["rule_reads"]) <= set(made.truth["log_format"]["columns"])
    assert "amount_deg" in cause["rule"] or "along" in cause["rule"]


def nothing_that_its_rule_needs_can_be_asked_for(made: Case) -> None:
    (cause, *_) = [c for c in made.truth["causes"] if c["kind"] == "hidden rule"]
    assert cause["rule"] is None
    assert "unknown" in cause["accept_kinds"]
    hidden = table(made.files["heldout_truth.csv"])["hidden_deg"]
    assert 0.03 < np.mean(np.abs(hidden) > 0.3) < 0.95


def test_a_seed_fixes_every_byte_and_another_makes_another_case():
    again = make_case("A", SEED)
    assert again.files == case("A").files
    assert again.truth == case("A").truth
    assert make_case("A", SEED + 1).log != again.log


def test_a_case_without_anything_wrong_has_no_cause_and_agrees():
    truth = case("A").truth
    assert truth["causes"] == []
    assert truth["verdict"] == "agrees"


def test_a_stale_sheet_is_the_first_and_another_one_fits():
    running = case("E").truth["running"]
    assert not running["matches_supplied"]
    assert running["best"] != running["supplied"]
    assert running["ranking"][0]["misfit_deg"] < 0.1 < running["ranking"][-1]["misfit_deg"]


def test_a_written_case_is_a_folder_of_its_files(tmp_path):
    made = case("C")
    write_case(made, tmp_path / "C-21")
    assert (tmp_path / "C-21" / "log.csv").read_bytes() == made.log
    assert json.loads((tmp_path / "C-21" / "truth.json").read_text()) == made.truth
    assert {p.name for p in (tmp_path / "C-21").iterdir()} == {*made.files, "truth.json"}
