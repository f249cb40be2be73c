"""A log replayed under a changed sheet."""

import json
from pathlib import Path

import numpy as np
import polars as pl
import pytest

from tests.change.rehearsals import AIR, DEG, edited, hot, hot_statement, made_case, moves, notes_of
from tests.explain.parts import closed_below, governing, pulling, switched, with_lever
from tests.explain.told import told
from tests.runs import along, charge_air, climb, governor, sheet
from tuneledger.calibrations import open_calibration
from tuneledger.car.cases import write_case
from tuneledger.change.rehearsal_out import rehearsed_table
from tuneledger.change.rehearse import rehearse, rehearse_edit
from tuneledger.statement.table import ledger_table

IDLE = governing((-110.0, 0.0, 110.0), closed_below(2.0))


def test_another_sheet_in_its_place_is_the_same_as_its_edits() -> None:
    statement = hot_statement()
    eased = sheet("rev-e.toml", "E", [charge_air((0.0, 0.0, -1.0, -2.0))]).calibration
    place = "spark.correction.charge-air.values"
    by_edit = edited(statement, (f"{place}[2]", -1.0), (f"{place}[3]", -2.0))
    assert np.array_equal(rehearse_edit(statement, eased, ()).moves, by_edit.moves, equal_nan=True)


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


def test_an_edit_replaces_what_a_correction_with_other_numbers_does_in_the_car() -> None:
    """The car takes 1.8 times what the sheet says; the eased sheet takes less than both."""
    statement = told(
        climb().post(
            "charge-air",
            along(climb(), "intake air temperature", AIR, tuple(1.8 * deg for deg in DEG)),
        ),
        sheet("rev-d.toml", "D", [charge_air(DEG)]),
    )
    rewritten = next(c for c in statement.causes if c.correction == "charge-air")
    assert rewritten.kind == "hidden rule"
    rehearsal = edited(statement, ("spark.correction.charge-air.values[3]", -4.0))
    assert moves(rehearsal).min() >= -0.3
    assert moves(rehearsal).max() > 1.0
    assert [s.entry for s in rehearsal.shifts] == ["charge-air"]
    assert "other numbers than the sheet's" in notes_of(rehearsal)
    assert rehearsal.ledger is not None
    assert "charge-air" in [e.correction for e in rehearsal.ledger.entries]
