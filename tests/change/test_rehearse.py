"""A log replayed under a changed sheet."""

import json
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import polars as pl
import pytest

from tests.explain.parts import oil_guard, pulling, switched, with_lever
from tests.explain.told import told
from tests.runs import Run, along, charge_air, climb, governor, sheet
from tests.shared import SHARED, needs_cases
from tuneledger.calibrations import open_calibration
from tuneledger.car.cases import Case, make_case, write_case
from tuneledger.change.edits import Edit, carry_out
from tuneledger.change.rehearsal import Rehearsal
from tuneledger.change.rehearsal_out import rehearsed_table
from tuneledger.change.rehearse import rehearse, rehearse_edit
from tuneledger.main_job import reconcile_files
from tuneledger.statement.model import Statement, SuppliedSheet
from tuneledger.statement.table import ledger_table

AIR = (20.0, 40.0, 60.0, 80.0)
DEG = (0.0, 0.0, -3.0, -6.0)
IDLE: dict[str, Any] = {
    "id": "idle-governor",
    "reason": "idle speed",
    "axes": [
        {
            "signal": "idle speed target",
            "minus": "engine speed",
            "unit": "rpm",
            "at": (-110.0, 0.0, 110.0),
        }
    ],
    "values": (-6.0, 0.0, 5.0),
    "when": [{"signal": "throttle position", "unit": "%", "below": 2.0}],
}


@cache
def made_case(kind: str, seed: int) -> Case:
    return make_case(kind, seed)


def edited(statement: Statement, *edits: tuple[str, Any]) -> Rehearsal:
    supplied = statement.sheets[0]
    new, changes = carry_out(
        supplied.calibration,
        [Edit(place, to) for place, to in edits],
        file="changes.toml",
        sheet=supplied.file,
    )
    return rehearse_edit(statement, new, changes)


def hot(run: Run) -> Run:
    return run.post("charge-air", along(run, "intake air temperature", AIR, DEG))


def hot_statement(*more: dict[str, Any], run: Run | None = None) -> Statement:
    return told(run or hot(climb()), sheet("rev-d.toml", "D", [charge_air(DEG), *more]))


def moves(rehearsal: Rehearsal) -> np.ndarray:
    return np.nan_to_num(rehearsal.moves)


# ---- nothing is edited


@pytest.mark.parametrize(("kind", "seed"), [("C", 3), ("G", 31)])
def test_the_ledger_of_a_rehearsal_without_an_edit_is_the_plain_one(
    tmp_path: Path, kind: str, seed: int
) -> None:
    folder = write_case(made_case(kind, seed), tmp_path)
    files = [folder / "log.csv", sorted(folder.glob("rev-*.toml"))[0]]
    statement = reconcile_files(files, memory=False)
    rehearsal = rehearse_edit(statement, statement.sheets[0].calibration, ())
    if rehearsal.ledger is None:
        assert statement.logs[0].ledger is None
        return
    table = rehearsed_table(rehearsal)
    plain = ledger_table(statement.logs)
    assert table.drop("rehearsed_deg").equals(plain)
    assert table["rehearsed_deg"].equals(plain["delivered_deg"])
    assert rehearsal.exit_status == 0
    assert rehearsal.cells == ()


# ---- the edit that undoes a cause


@needs_cases
def test_undoing_a_cause_leaves_nothing_of_it_in_the_shared_cases() -> None:
    """Each cause whose correction stands, switched on, in one of the sheets of its case."""
    tried = 0
    for folder in sorted(SHARED.joinpath("cases").iterdir()):
        if folder.joinpath("truth.json").is_file():
            tried += nothing_is_left(folder)
    assert tried >= 10


@pytest.mark.parametrize(("kind", "seed"), [("C", 3), ("D", 32), ("G", 31), ("I", 31)])
def test_undoing_a_cause_leaves_nothing_of_it_in_made_cases(
    tmp_path: Path, kind: str, seed: int
) -> None:
    assert nothing_is_left(write_case(made_case(kind, seed), tmp_path))


def nothing_is_left(folder: Path) -> int:
    """Switches every cause's correction off in turn; how many there were."""
    truth = json.loads((folder / "truth.json").read_text(encoding="utf-8"))
    books = pl.read_csv(folder / "truth.csv")
    tried, done = 0, set[str]()
    for name in truth["calibrations"]:
        on = {c.id for c in open_calibration(folder / name).spark.correction if c.enabled}
        wanted = ({c["correction"] for c in truth["causes"]} & on) - done
        done |= wanted
        if not wanted:
            continue
        statement = reconcile_files([folder / "log.csv", folder / name], memory=False)
        for cause in sorted(wanted):
            if statement.logs[0].ledger is None or f"entry:{cause}" not in books.columns:
                continue
            posted = books[f"entry:{cause}"].to_numpy()
            table = rehearsed_table(edited(statement, (f"spark.correction.{cause}.enabled", False)))
            if f"entry:{cause}" not in table.columns:
                continue  # the log does not show it at work
            left = table[f"entry:{cause}"].to_numpy()
            assert not np.nan_to_num(left).any(), f"{folder.name} {name} {cause}"
            moved = (table["rehearsed_deg"] - table["delivered_deg"]).to_numpy()
            ruled = any(c["kind"] in ("replacement", "limit") for c in truth["causes"])
            if not ruled:  # where another rules, giving back is no plain sum
                off = np.nan_to_num(moved + posted)
                assert np.sqrt(np.mean(off**2)) < 0.25, f"{folder.name} {name} {cause}"
            tried += 1
    return tried


def test_undoing_the_correction_gives_back_what_it_took() -> None:
    statement = hot_statement()
    rehearsal = edited(statement, ("spark.correction.charge-air.enabled", False))
    taken = along(climb(), "intake air temperature", AIR, DEG)
    assert moves(rehearsal) == pytest.approx(-taken, abs=0.06)
    assert rehearsal.exit_status == 1


def test_a_limit_that_is_lifted_cuts_no_more() -> None:
    run = climb()
    cut = np.minimum(28.0 - run.scheduled, 0.0)
    made = sheet("rev-d.toml", "D", [])
    new, _ = carry_out(made.calibration, [Edit("spark.limits.highest", 28.0)], file="c", sheet="s")
    statement = told(run.post("limit", cut), SuppliedSheet("rev-d.toml", new))
    rehearsal = edited(statement, ("spark.limits.highest", 60.0))
    assert moves(rehearsal) == pytest.approx(-cut, abs=1e-6)
    (entry,) = [e for e in rehearsal.ledger.entries if e.correction == "limit"]  # type: ignore[union-attr]
    assert not entry.values.any()


def test_what_a_channel_carries_is_what_its_undoing_gives_back() -> None:
    """The lever's share is logged, and a tenth off what the sheet would compute."""
    run = with_lever(climb())
    share = pulling(run, -4.1)
    run = run.post("lever", share).carry("Lever share", share)
    made = sheet("rev-d.toml", "D", [switched("lever", -4.0, logged_as="Lever share")])
    statement = told(run, made)
    rehearsal = edited(statement, ("spark.correction.lever.enabled", False))
    assert moves(rehearsal) == pytest.approx(-share, abs=1e-6)


def test_another_sheet_in_its_place_is_the_same_as_its_edits() -> None:
    statement = hot_statement()
    eased = sheet("rev-e.toml", "E", [charge_air((0.0, 0.0, -1.0, -2.0))]).calibration
    place = "spark.correction.charge-air.values"
    by_edit = edited(statement, (f"{place}[2]", -1.0), (f"{place}[3]", -2.0))
    assert np.array_equal(rehearse_edit(statement, eased, ()).moves, by_edit.moves, equal_nan=True)


# ---- the sum, the map, the limits


def test_the_rehearsed_account_balances_like_the_plain_one() -> None:
    statement = hot_statement(IDLE, run=hot(climb()).post("idle-governor", governor(climb())))
    rehearsal = edited(statement, ("spark.correction.charge-air.values[2]", -1.0))
    table = rehearsed_table(rehearsal)
    entries = sum(table[n].to_numpy() for n in table.columns if n.startswith("entry:"))
    total = table["scheduled_deg"].to_numpy() + entries + table["unaccounted_deg"].to_numpy()
    assert total == pytest.approx(table["rehearsed_deg"].to_numpy(), abs=0.001, nan_ok=True)


def test_an_edit_of_the_map_moves_scheduled_with_it() -> None:
    statement = hot_statement()
    rows = [list(row) for row in statement.sheets[0].calibration.spark.map.values]  # type: ignore[union-attr]
    raised = [[cell + 1.0 for cell in row] for row in rows]
    rehearsal = edited(statement, ("spark.map.values", raised))
    table, plain = rehearsed_table(rehearsal), ledger_table(statement.logs)
    assert (table["scheduled_deg"] - plain["scheduled_deg"]).to_numpy() == pytest.approx(1.0)
    assert moves(rehearsal) == pytest.approx(1.0)
    assert sum(cell.seconds for cell in rehearsal.cells) == pytest.approx(60.0, abs=0.2)
    assert all(cell.mean_deg == pytest.approx(1.0) for cell in rehearsal.cells)


def test_cells_are_those_of_the_map_that_move_with_how_long() -> None:
    run = with_lever(climb())
    made = sheet("rev-d.toml", "D", [switched("lever", -4.0)])
    statement = told(run.post("lever", pulling(run, -4.0)), made)
    rehearsal = edited(statement, ("spark.correction.lever.amount", -3.0))
    assert {cell.at for cell in rehearsal.cells} == {
        (200.0, 5000.0),
        (200.0, 7000.0),
        (150.0, 5000.0),
    } & {cell.at for cell in rehearsal.cells}
    assert sum(cell.seconds for cell in rehearsal.cells) == pytest.approx(10.0, abs=0.1)
    assert {round(cell.mean_deg, 6) for cell in rehearsal.cells} == {1.0}


def test_a_correction_that_asks_for_another_one_is_moved_along() -> None:
    run = with_lever(climb())
    run = run.post("lever", pulling(run, -4.0)).post("eco", pulling(run, 1.0))
    eco = {"id": "eco", "amount": 1.0, "when": [{"correction": "lever", "is": "active"}]}
    statement = told(run, sheet("rev-d.toml", "D", [switched("lever", -4.0), eco]))
    rehearsal = edited(statement, ("spark.correction.lever.enabled", False))
    assert moves(rehearsal) == pytest.approx(pulling(run, 3.0), abs=0.01)
    assert {(s.entry, round(s.mean_deg, 3)) for s in rehearsal.shifts} == {
        ("lever", 4.0),
        ("eco", -1.0),
    }


def test_what_the_limits_take_of_what_is_given_back_is_told() -> None:
    run = hot(climb())
    made = sheet("rev-d.toml", "D", [charge_air(DEG)])
    statement = told(run, made)
    rehearsal = edited(
        statement,
        ("spark.correction.charge-air.enabled", False),
        ("spark.limits.highest", 30.0),
    )
    assert np.nanmax(rehearsal.ledger.delivered) <= 30.1  # type: ignore[union-attr]
    assert any(shift.entry == "limit" and shift.mean_deg < 0 for shift in rehearsal.shifts)


# ---- how sure


def notes_of(rehearsal: Rehearsal) -> str:
    return "\n".join(rehearsal.notes)


def test_the_engine_s_answer_is_not_replayed_and_that_is_said() -> None:
    rehearsal = edited(hot_statement(), ("spark.correction.charge-air.enabled", False))
    assert "what the advance does back to the engine (speed, load) is not replayed" in notes_of(
        rehearsal
    )


def test_cells_that_were_not_driven_are_named() -> None:
    rehearsal = edited(
        hot_statement(run=hot(climb(warmth=10.0))),
        ("spark.correction.charge-air.values[3]", -9.0),
        ("spark.correction.charge-air.values[0]", 1.0),
    )
    assert "1 of 2 changed cells of Hot charge air not reached on this drive" in notes_of(rehearsal)


def test_a_correction_that_never_acts_shows_nothing() -> None:
    run = with_lever(hot(climb()), np.zeros(climb().times.shape, dtype=bool))
    statement = hot_statement(switched("lever", -4.0), run=run)
    rehearsal = edited(statement, ("spark.correction.lever.amount", -6.0))
    assert rehearsal.exit_status == 0
    assert rehearsal.headline.startswith("Nothing moves on this drive")
    assert "'lever' never acts on this drive" in notes_of(rehearsal)


def test_a_retard_that_never_acted_and_is_eased_is_said_to_raise_where_nobody_drove() -> None:
    run = with_lever(hot(climb()), np.zeros(climb().times.shape, dtype=bool))
    rehearsal = edited(
        hot_statement(switched("lever", -4.0), run=run), ("spark.correction.lever.enabled", False)
    )
    assert rehearsal.exit_status == 1
    assert rehearsal.headline.startswith("Care: nothing moves on this drive")
    assert "raises advance by 4.0° (lever), where this drive never was" in rehearsal.headline


@pytest.mark.parametrize(("to", "raised"), [(40.0, True), (10.0, False)])
def test_a_cell_where_this_drive_never_was_is_not_raised_without_a_word(
    tmp_path: Path, to: float, raised: bool
) -> None:
    """Kestrel's climb never came near 240 kPa at 5000 rpm, where revision C has 16.5°."""
    demo = Path(__file__).parents[2] / "demo"
    changes = tmp_path / "changes.toml"
    changes.write_text(
        'format = "tuneledger-changes/1"\n[[change]]\n'
        f'place = "spark.map.values[6][5]"\nto = {to}\n'
    )
    made = rehearse(demo / "climb.csv", demo / "rev-c.toml", changes=changes, memory=False)
    assert not made.moving.any()
    assert made.exit_status == raised
    words = (
        "raises advance by 23.5° (the main map at 240 kPa, 5000 rpm), where this drive never was"
    )
    assert (words in made.headline) is raised
    assert made.headline.startswith("Care") is raised


def test_an_input_that_is_not_logged_leaves_the_outcome_empty_and_is_asked_for() -> None:
    statement = hot_statement(oil_guard(-8.0))
    rehearsal = edited(statement, ("spark.correction.oil-guard.amount", -4.0))
    assert rehearsal.exit_status == 3
    assert rehearsal.headline.startswith("Cannot tell")
    assert [need.what for need in rehearsal.needs] == ["Oil gallery"]
    assert rehearsed_table(rehearsal)["rehearsed_deg"].null_count() == 1200


def test_an_unlogged_input_of_a_correction_that_is_left_alone_spoils_nothing() -> None:
    statement = hot_statement(oil_guard(-8.0))
    rehearsal = edited(statement, ("spark.correction.charge-air.enabled", False))
    taken = along(climb(), "intake air temperature", AIR, DEG)
    assert not np.isnan(rehearsal.moves).any()
    assert moves(rehearsal) == pytest.approx(-taken, abs=0.06)


def test_what_nobody_accounts_for_is_kept_as_it_was() -> None:
    run = climb()
    statement = hot_statement(run=hot(run).post("stranger", np.where(run.times < 20, -2.0, 0.0)))
    rehearsal = edited(statement, ("spark.correction.charge-air.enabled", False))
    taken = along(run, "intake air temperature", AIR, DEG)
    assert moves(rehearsal) == pytest.approx(-taken, abs=0.4)


def test_an_edit_that_adds_under_load_comes_with_care_first() -> None:
    rehearsal = edited(hot_statement(), ("spark.correction.charge-air.enabled", False))
    assert rehearsal.headline.startswith("Care: ")
    assert "Ask first why it was taken" in rehearsal.headline
    taking = edited(hot_statement(), ("spark.correction.charge-air.values[2]", -5.0))
    assert not taking.headline.startswith("Care")


# ---- from files


def test_the_command_answers_in_the_contract_s_keys(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    from tuneledger.cli.main import run as cli

    folder = write_case(made_case("C", 3), tmp_path)
    monkeypatch.chdir(folder)
    name = sorted(Path().glob("rev-*.toml"))[0]
    (first, *_) = [c.id for c in open_calibration(name).spark.correction if c.enabled]
    Path("c.toml").write_text(
        'format = "tuneledger-changes/1"\n[[change]]\n'
        f'place = "spark.correction.{first}.enabled"\nto = false\n'
    )
    call = ["rehearse", "log.csv", str(name), "--change", "c.toml", "--no-memory"]
    status = cli([*call, "--json", "r.json", "--ledger", "r.csv"])
    assert status in (0, 1)
    answer = json.loads(Path("r.json").read_text())
    assert list(answer) == ["format", "changes", "moved", "notes", "needs"]
    assert answer["changes"] == [
        {"place": f"spark.correction.{first}.enabled", "before": True, "after": False}
    ]
    columns = pl.read_csv("r.csv").columns
    assert columns[:4] == ["time_s", "scheduled_deg", "delivered_deg", "rehearsed_deg"]
    screen = capsys.readouterr().out
    assert max(map(len, screen.splitlines())) <= 80
    assert "Take care" in screen


@pytest.mark.parametrize(
    "options", [[], ["--change", "c.toml", "--to", "c.toml"], ["--change", "missing.toml"]]
)
def test_a_call_that_cannot_be_carried_out_writes_nothing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, options: list[str]
) -> None:
    from tuneledger.cli.main import run as cli

    folder = write_case(made_case("C", 3), tmp_path)
    monkeypatch.chdir(folder)
    Path("c.toml").write_text("x = 1\n")
    name = str(sorted(Path().glob("rev-*.toml"))[0])
    assert cli(["rehearse", "log.csv", name, *options, "--json", "r.json", "--no-memory"]) == 2
    assert not Path("r.json").exists()


def test_the_library_takes_paths(tmp_path: Path) -> None:
    folder = write_case(made_case("C", 3), tmp_path)
    name = sorted(folder.glob("rev-*.toml"))[0]
    rehearsal = rehearse(folder / "log.csv", name, to=name, memory=False)
    assert rehearsal.changes == ()
    assert rehearsal.exit_status == 0
